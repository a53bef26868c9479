#include "command.h"

#include "decimal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Of one prefix letter. Nobody tunes to millihertz: with Hz and S/s a small m is meant to be a large one. */
static bool prefix_exponent(char prefix, const char *unit, int *exponent)
{
    const bool rate = unit && (strcasecmp(unit, "Hz") == 0 || strcasecmp(unit, "S/s") == 0);
    switch (prefix) {
    case 'u': *exponent = -6; return !rate;
    case 'm': *exponent = rate ? 6 : -3; return true;
    case 'h': *exponent = 2; return !rate;
    case 'k':
    case 'K': *exponent = 3; return true;
    case 'M': *exponent = 6; return true;
    case 'g': *exponent = 9; return rate;
    case 'G': *exponent = 9; return true;
    default: return false;
    }
}

/* What stands after the number: nothing, the unit, a prefix, or a prefix and the unit. */
static bool parse_suffix(const char *text, const char *unit, int *exponent)
{
    *exponent = 0;
    if (*text == '\0' || (unit && strcasecmp(text, unit) == 0))
        return true;
    if (!prefix_exponent(*text, unit, exponent))
        return false;
    text++;
    return *text == '\0' || (unit && strcasecmp(text, unit) == 0);
}

bool wh_number_parse(const char *text, const char *unit, double *out)
{
    static const char blanks[] = " \t";
    text += strspn(text, blanks);
    double value;
    const size_t used = wh_decimal_read(text, &value);
    if (used == 0)
        return false;
    char suffix[24];
    const char *rest = text + used + strspn(text + used, blanks);
    size_t length = strlen(rest);
    while (length > 0 && strchr(blanks, rest[length - 1]))
        length--;
    if (length >= sizeof suffix)
        return false;
    memcpy(suffix, rest, length);
    suffix[length] = '\0';
    int exponent;
    if (!parse_suffix(suffix, unit, &exponent))
        return false;
    /* Reading "433.92e6" rounds once, 433.92 times a million twice: whole hertz stay whole. */
    char scaled[64];
    if (exponent != 0 && used < sizeof scaled - 8 && !memchr(text, 'e', used) && !memchr(text, 'E', used)) {
        snprintf(scaled, sizeof scaled, "%.*se%d", (int)used, text, exponent);
        if (wh_decimal_read(scaled, &value) == 0)
            return false;
    } else if (exponent != 0) {
        value *= pow(10.0, exponent);
    }
    if (!isfinite(value))
        return false;
    *out = value;
    return true;
}
