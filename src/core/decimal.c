#include "decimal.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Exponent part at text[at]; returns the place after it, or `at` when there is none. */
static size_t read_exponent(const char *text, size_t at, int *exponent)
{
    if (text[at] != 'e' && text[at] != 'E')
        return at;
    size_t i = at + 1;
    const bool negative = text[i] == '-';
    if (text[i] == '+' || text[i] == '-')
        i++;
    if (!is_digit(text[i]))
        return at; /* "5 eggs" without the blank: the e belongs to what follows */
    int sum = 0;
    for (; is_digit(text[i]); i++)
        sum = sum < 100000 ? sum * 10 + (text[i] - '0') : sum;
    *exponent += negative ? -sum : sum;
    return i;
}

size_t wh_decimal_read(const char *text, double *value)
{
    size_t i = 0;
    const bool negative = text[i] == '-';
    if (text[i] == '+' || text[i] == '-')
        i++;
    uint64_t mantissa = 0;
    int exponent = 0;
    bool any = false, point = false;
    for (;; i++) {
        if (text[i] == '.' && !point && is_digit(text[i + 1])) {
            point = true;
        } else if (is_digit(text[i])) {
            any = true;
            const bool room = mantissa < UINT64_MAX / 10 - 1; /* 19 digits are more than a double holds */
            if (room)
                mantissa = mantissa * 10 + (uint64_t)(text[i] - '0');
            if (room == point && exponent > -100000 && exponent < 100000)
                exponent += point ? -1 : 1;
        } else {
            break;
        }
    }
    if (!any)
        return 0;
    i = read_exponent(text, i, &exponent);
    /* Division by a power of ten is exact to the last place where multiplication by its inverse is not. */
    const long double scaled = exponent < 0 ? (long double)mantissa / powl(10.0L, (long double)-exponent)
                                            : (long double)mantissa * powl(10.0L, (long double)exponent);
    const double result = mantissa == 0 ? 0.0 : (double)scaled;
    if (!isfinite(result))
        return 0;
    *value = negative ? -result : result;
    return i;
}
