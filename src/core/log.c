#include "wheelhark/log.h"

#include <stdarg.h>
#include <stdio.h>

void wh_log_print(const wh_log *log, wh_log_level level, const char *format, ...)
{
    if (!log || !log->write)
        return;
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    log->write(log->context, level, text);
}
