#include "complaint_print.h"

void wh_complaint_print(FILE *out, const wh_complaint *complaint)
{
    fprintf(out, "%s:%u:%u: %s: %s\n", complaint->file, complaint->line, complaint->column,
            complaint->warning ? "warning" : "error", complaint->reason);
    if (complaint->source_line[0]) {
        fprintf(out, "  %s\n  %*s^", complaint->source_line, (int)complaint->caret - 1, "");
        for (unsigned i = 1; i < complaint->width; i++)
            fputc('~', out);
        fputc('\n', out);
    }
    if (complaint->hint[0])
        fprintf(out, "  %s\n", complaint->hint);
}
