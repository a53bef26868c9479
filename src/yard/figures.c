#include "figures.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "text_buffer.h"

/* Finer digits than sensors have would only look exact. */
static const unsigned pressure_decimals[WH_PRESSURE_UNIT_COUNT] = {[WH_KPA] = 0, [WH_BAR] = 2, [WH_PSI] = 1};
static const unsigned rate_decimals[WH_PRESSURE_UNIT_COUNT] = {[WH_KPA] = 1, [WH_BAR] = 3, [WH_PSI] = 1};

wh_phrase wh_phrase_in(char *text, size_t size)
{
    text[0] = '\0';
    return (wh_phrase){text, size, 0};
}

static void cut(wh_phrase *phrase)
{
    size_t end = phrase->size - 4;
    while (end > 0 && ((unsigned char)phrase->text[end] & 0xC0) == 0x80)
        end--; /* not within a character of UTF-8 */
    memcpy(phrase->text + end, "...", 4);
    phrase->length = phrase->size - 1; /* full, whatever is added */
}

void wh_phrase_add(wh_phrase *phrase, const char *format, ...)
{
    const size_t room = phrase->size - phrase->length;
    if (room <= 1)
        return;
    va_list arguments;
    va_start(arguments, format);
    const int wanted = vsnprintf(phrase->text + phrase->length, room, format, arguments);
    va_end(arguments);
    if (wanted < 0 || (size_t)wanted >= room)
        cut(phrase);
    else
        phrase->length += (size_t)wanted;
}

static const char *with_unit(char out[WH_FIGURE_SIZE], double value, unsigned decimals, const char *unit)
{
    char number[WH_FIXED_SIZE];
    const double bounded = fmin(fmax(value, -1e9), 1e9); /* keeps the figure within its array */
    snprintf(out, WH_FIGURE_SIZE, "%.24s%s%.20s", wh_fixed(number, bounded, decimals), *unit ? " " : "", unit);
    return out;
}

const char *wh_gauge_figure(char out[WH_FIGURE_SIZE], wh_gauge pressure, wh_pressure_unit unit)
{
    wh_difference_figure(out, pressure.kpa, unit);
    strcat(out, " gauge");
    return out;
}

const char *wh_difference_figure(char out[WH_FIGURE_SIZE], double kpa, wh_pressure_unit unit)
{
    return with_unit(out, wh_kpa_to(kpa, unit), pressure_decimals[unit], wh_pressure_unit_name(unit));
}

const char *wh_rate_figure(char out[WH_FIGURE_SIZE], double kpa, wh_pressure_unit unit, bool say_unit)
{
    return with_unit(out, wh_kpa_to(kpa, unit), rate_decimals[unit], say_unit ? wh_pressure_unit_name(unit) : "");
}

const char *wh_temperature_figure(char out[WH_FIGURE_SIZE], double celsius, wh_temperature_unit unit)
{
    return with_unit(out, wh_celsius_to(celsius, unit), 1, wh_temperature_unit_name(unit));
}

const char *wh_share_figure(char out[WH_FIGURE_SIZE], double share)
{
    double percent = 100.0 * share;
    if (percent > 0 && percent < 1)
        percent = 1;
    if (percent > 99 && percent < 100)
        percent = 99;
    return with_unit(out, percent, 0, "%");
}

const char *wh_duration_figure(char out[WH_FIGURE_SIZE], double seconds)
{
    if (seconds < 120)
        return with_unit(out, seconds, 0, "s");
    if (seconds < 7200)
        return with_unit(out, seconds / 60, 0, "min");
    if (seconds < 172800)
        return with_unit(out, seconds / 3600, 0, "h");
    return with_unit(out, seconds / 86400, 0, "days");
}
