/* Any bytes as a descriptor file: no crash, no hang, and the complaints keep what their header promises. A file that
 * is accepted must also be showable and be the only member of its set. */
#include "descriptor_text.h"
#include "fuzz_target.h"
#include "wheelhark/descriptor.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct told {
    unsigned errors, line, column;
} told;

static void insist(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

static void look_at(void *context, const wh_complaint *complaint)
{
    told *const last = context;
    last->errors += !complaint->warning;
    insist(complaint->line >= 1 && complaint->column >= 1 && complaint->width >= 1, "places count from 1");
    insist(complaint->line > last->line || (complaint->line == last->line && complaint->column >= last->column),
           "complaints come in file order");
    insist(memchr(complaint->reason, '\0', sizeof complaint->reason) != NULL && complaint->reason[0], "a reason");
    insist(memchr(complaint->hint, '\0', sizeof complaint->hint) != NULL, "a closed hint");
    insist(memchr(complaint->source_line, '\0', sizeof complaint->source_line) != NULL, "a closed line");
    insist(complaint->caret >= 1 && complaint->caret <= strlen(complaint->source_line) + 1, "a caret within the line");
    last->line = complaint->line;
    last->column = complaint->column;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    told count = {0, 0, 0};
    wh_descriptor_set *set = wh_descriptor_set_create();
    if (!set)
        return 0;
    const wh_status status = wh_descriptor_set_load_text(set, "input.yaml", (const char *)data, size, look_at, &count);
    insist((status == WH_OK) == (count.errors == 0), "an error is told exactly when the file is refused");
    insist(wh_descriptor_set_count(set) == (status == WH_OK), "the set holds what was accepted");
    if (status == WH_OK) {
        wh_text text = {.data = NULL};
        wh_descriptor_text(&text, wh_descriptor_set_at(set, 0));
        insist(text.length > 0 && !text.failed, "an accepted descriptor can be shown");
        wh_text_free(&text);
    }
    wh_descriptor_set_destroy(&set);
    return 0;
}
