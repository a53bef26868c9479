#include "notices.h"

#include <stdarg.h>
#include <stdio.h>

void wh_notices_add(wh_notices *notices, wh_status status, const char *fix, const char *format, ...)
{
    if (notices->count == WH_NOTICES_MAX && notices->taken == notices->count)
        notices->count = notices->taken = 0; /* all told: room again */
    if (notices->count == WH_NOTICES_MAX) {
        notices->dropped++;
        return;
    }
    wh_error *notice = &notices->list[notices->count++];
    char text[sizeof notice->what];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    wh_fail(notice, status, fix, "%s", text);
}

bool wh_notices_take(wh_notices *notices, wh_error *out)
{
    if (notices->taken < notices->count) {
        *out = notices->list[notices->taken++];
        return true;
    }
    if (notices->dropped == 0)
        return false;
    wh_fail(out, WH_ERR_DATA, NULL, "and %zu more of this kind", notices->dropped);
    notices->dropped = 0;
    return true;
}
