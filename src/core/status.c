#include "wheelhark/status.h"

#include <stdio.h>

static const char *const names[WH_STATUS_COUNT] = {
    [WH_OK] = "ok",
    [WH_ERR_ARGUMENT] = "wrong argument",
    [WH_ERR_MEMORY] = "out of memory",
    [WH_ERR_FORMAT] = "wrong format",
    [WH_ERR_UNSUPPORTED] = "unsupported variant",
    [WH_ERR_DATA] = "damaged data",
    [WH_ERR_LIMIT] = "over a limit",
    [WH_ERR_IO] = "input/output failed",
    [WH_ERR_NOT_FOUND] = "not found",
    [WH_ERR_BUSY] = "busy",
    [WH_ERR_PERMISSION] = "permission refused",
    [WH_ERR_GONE] = "gone",
};

const char *wh_status_name(wh_status status)
{
    const unsigned index = (unsigned)status;
    return index < WH_STATUS_COUNT && names[index] ? names[index] : "unknown status";
}

wh_status wh_fail(wh_error *error, wh_status status, const char *fix, const char *format, ...)
{
    if (!error)
        return status;
    error->status = status;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(error->what, sizeof error->what, format, arguments);
    va_end(arguments);
    snprintf(error->fix, sizeof error->fix, "%s", fix ? fix : "");
    return status;
}

void wh_error_clear(wh_error *error)
{
    if (error)
        *error = (wh_error){.status = WH_OK};
}
