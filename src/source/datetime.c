#include "datetime.h"

/* `digits` decimal digits into *value; returns the place behind them or NULL. */
static const char *number(const char *text, int digits, int *value)
{
    *value = 0;
    for (int i = 0; i < digits; i++) {
        if (text[i] < '0' || text[i] > '9')
            return 0;
        *value = *value * 10 + (text[i] - '0');
    }
    return text + digits;
}

/* `digits` digits between `before` and whatever follows. */
static const char *part(const char *text, char before, int digits, int *value)
{
    if (!text || *text != before)
        return 0;
    return number(text + 1, digits, value);
}

static bool leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int month_length(int year, int month)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return lengths[month - 1] + (month == 2 && leap(year));
}

static int64_t days_since_1970(int year, int month, int day)
{
    int64_t days = day - 1;
    for (int y = 1970; y < year; y++)
        days += leap(y) ? 366 : 365;
    for (int m = 1; m < month; m++)
        days += month_length(year, m);
    return days;
}

static const char *fraction(const char *text, int64_t *us)
{
    *us = 0;
    if (*text != '.')
        return text;
    text++;
    if (*text < '0' || *text > '9')
        return 0;
    for (int64_t weight = 100000; *text >= '0' && *text <= '9'; weight /= 10)
        *us += weight * (*text++ - '0');
    return text;
}

static const char *zone(const char *text, int *minutes)
{
    *minutes = 0;
    if (*text == 'Z' || *text == 'z')
        return text + 1;
    const char sign = *text;
    if (sign != '+' && sign != '-')
        return text;
    int hour = 0, minute = 0;
    text = part(part(text, sign, 2, &hour), ':', 2, &minute);
    *minutes = (sign == '-' ? -1 : 1) * (hour * 60 + minute);
    return hour <= 23 && minute <= 59 ? text : 0;
}

bool wh_datetime_parse(const char *text, int64_t *utc_us)
{
    int year, month = 0, day = 0, hour = 0, minute = 0, second = 0, offset;
    text = number(text, 4, &year);
    text = part(text, '-', 2, &month);
    text = part(text, '-', 2, &day);
    if (text && (*text == 't' || *text == ' '))
        text = part(text, *text, 2, &hour);
    else
        text = part(text, 'T', 2, &hour);
    text = part(text, ':', 2, &minute);
    text = part(text, ':', 2, &second);
    if (!text || year < 1970 || month < 1 || month > 12 || day < 1 || day > month_length(year, month))
        return false;
    if (hour > 23 || minute > 59 || second > 60) /* 60: a leap second */
        return false;
    int64_t us;
    text = fraction(text, &us);
    if (text)
        text = zone(text, &offset);
    if (!text || *text != '\0')
        return false;
    const int64_t seconds =
        days_since_1970(year, month, day) * 86400 + hour * 3600 + minute * 60 + second - offset * (int64_t)60;
    *utc_us = seconds * 1000000 + us;
    return true;
}
