#include "text_buffer.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void wh_text_free(wh_text *text)
{
    free(text->data);
    *text = (wh_text){0};
}

void wh_text_clear(wh_text *text)
{
    text->length = 0;
    if (text->data)
        text->data[0] = '\0';
}

static bool reserve(wh_text *text, size_t more)
{
    if (more < text->capacity - text->length)
        return true;
    size_t capacity = text->capacity ? text->capacity : 256;
    while (capacity - text->length <= more) {
        if (capacity > SIZE_MAX / 2)
            return false;
        capacity *= 2;
    }
    char *data = realloc(text->data, capacity);
    if (!data)
        return false;
    text->data = data;
    text->capacity = capacity;
    return true;
}

void wh_text_add_bytes(wh_text *text, const char *bytes, size_t count)
{
    if (text->failed || !reserve(text, count)) {
        text->failed = true;
        return;
    }
    memcpy(text->data + text->length, bytes, count);
    text->length += count;
    text->data[text->length] = '\0';
}

void wh_text_add(wh_text *text, const char *string)
{
    wh_text_add_bytes(text, string, strlen(string));
}

void wh_text_print(wh_text *text, const char *format, ...)
{
    char stack[1024];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(stack, sizeof stack, format, arguments);
    va_end(arguments);
    if (length < 0) {
        text->failed = true;
    } else if ((size_t)length < sizeof stack) {
        wh_text_add_bytes(text, stack, (size_t)length);
    } else if (!text->failed && reserve(text, (size_t)length)) {
        va_start(arguments, format);
        vsnprintf(text->data + text->length, (size_t)length + 1, format, arguments);
        va_end(arguments);
        text->length += (size_t)length;
    } else {
        text->failed = true;
    }
}

void wh_text_pad(wh_text *text, const char *string, int width)
{
    int blanks = width < 0 ? -width : width;
    for (const char *p = string; *p; p++)
        blanks -= ((unsigned char)*p & 0xC0) != 0x80; /* continuation bytes take no column */
    if (width > 0)
        wh_text_add(text, string);
    for (; blanks > 0; blanks--)
        wh_text_add_bytes(text, " ", 1);
    if (width <= 0)
        wh_text_add(text, string);
}

static const double power_of_ten[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};
static const int64_t whole_power_of_ten[] = {1, 10, 100, 1000, 10000, 100000, 1000000, 10000000, 100000000, 1000000000};

static const char *write_fixed(char out[WH_FIXED_SIZE], double scaled, unsigned decimals)
{
    if (isnan(scaled)) {
        snprintf(out, WH_FIXED_SIZE, "nan");
        return out;
    }
    const int64_t units = (int64_t)fmin(fmax(scaled, -9.2e18), 9.2e18);
    const int64_t one = whole_power_of_ten[decimals];
    const uint64_t size = units < 0 ? (uint64_t)-units : (uint64_t)units;
    const unsigned long long whole = size / (uint64_t)one, rest = size % (uint64_t)one;
    const char *sign = units < 0 ? "-" : "";
    if (decimals == 0)
        snprintf(out, WH_FIXED_SIZE, "%s%llu", sign, whole);
    else
        snprintf(out, WH_FIXED_SIZE, "%s%llu.%0*llu", sign, whole, (int)decimals, rest);
    return out;
}

const char *wh_fixed(char out[WH_FIXED_SIZE], double value, unsigned decimals)
{
    return write_fixed(out, round(value * power_of_ten[decimals]), decimals);
}

const char *wh_fixed_down(char out[WH_FIXED_SIZE], double value, unsigned decimals)
{
    /* 0.29 * 100 is 28.999...: a value that stands for a decimal number must keep its digits. */
    const double scaled = value * power_of_ten[decimals];
    const double slack = 1e-9 * fabs(scaled);
    return write_fixed(out, trunc(scaled + copysign(slack, scaled)), decimals);
}

const char *wh_plain(char out[WH_FIXED_SIZE], double value, unsigned decimals)
{
    wh_fixed(out, value, decimals);
    if (!strchr(out, '.'))
        return out;
    size_t length = strlen(out);
    while (out[length - 1] == '0')
        length--;
    if (out[length - 1] == '.')
        length--;
    out[length] = '\0';
    return strcmp(out, "-0") == 0 ? strcpy(out, "0") : out;
}

/* Day count since 1970-01-01 to a date of the Gregorian calendar: count years from 1 March, so that the leap day is
 * the last of its year, in cycles of 400 years = 146097 days. */
static void date_of(int64_t day, int *year, unsigned *month, unsigned *day_of_month)
{
    const int64_t shifted = day + 719468; /* days from 0000-03-01 */
    const int64_t cycle = (shifted >= 0 ? shifted : shifted - 146096) / 146097;
    const unsigned in_cycle = (unsigned)(shifted - cycle * 146097);
    const unsigned in_years = (in_cycle - in_cycle / 1460 + in_cycle / 36524 - in_cycle / 146096) / 365;
    const unsigned in_year = in_cycle - (365 * in_years + in_years / 4 - in_years / 100);
    const unsigned march_month = (5 * in_year + 2) / 153;
    *day_of_month = in_year - (153 * march_month + 2) / 5 + 1;
    *month = march_month < 10 ? march_month + 3 : march_month - 9;
    *year = (int)(cycle * 400) + (int)in_years + (*month <= 2);
}

const char *wh_time_text(char out[WH_TIME_SIZE], int64_t utc_us, unsigned decimals)
{
    const int64_t day_us = INT64_C(86400000000);
    const int64_t first = -719528 * day_us, last = 2932897 * day_us - 1; /* 0000-01-01 .. 9999-12-31 */
    const int64_t instant = utc_us < first ? first : utc_us > last ? last : utc_us;
    int64_t day = instant / day_us;
    int64_t rest = instant % day_us;
    if (rest < 0) {
        rest += day_us;
        day--;
    }
    int year;
    unsigned month, day_of_month;
    date_of(day, &year, &month, &day_of_month);
    const unsigned second = (unsigned)(rest / 1000000);
    const unsigned fraction = (unsigned)(rest % 1000000) / (decimals == 3 ? 1000 : 1);
    snprintf(out, WH_TIME_SIZE, "%04d-%02u-%02uT%02u:%02u:%02u.%0*uZ", year, month, day_of_month, second / 3600,
             second / 60 % 60, second % 60, decimals == 3 ? 3 : 6, fraction);
    return out;
}
