#include "quantity.h"
#include "decimal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct unit {
    wh_dimension dimension;
    const char *name;
    double times, parts, zero; /* value = number * times / parts + zero: 5 % comes out as the nearest double to 0.05 */
} unit;

/* Of one dimension from small to large. Pressure: NIST SP 811, appendix B. */
static const unit units[] = {
    {WH_DIM_FREQUENCY, "Hz", 1, 1, 0},
    {WH_DIM_FREQUENCY, "kHz", 1e3, 1, 0},
    {WH_DIM_FREQUENCY, "MHz", 1e6, 1, 0},
    {WH_DIM_CHIP_RATE, "chip/s", 1, 1, 0},
    {WH_DIM_CHIP_RATE, "kchip/s", 1e3, 1, 0},
    {WH_DIM_BIT_RATE, "bit/s", 1, 1, 0},
    {WH_DIM_BIT_RATE, "kbit/s", 1e3, 1, 0},
    {WH_DIM_DURATION, "us", 1, 1e6, 0},
    {WH_DIM_DURATION, "ms", 1, 1e3, 0},
    {WH_DIM_DURATION, "s", 1, 1, 0},
    {WH_DIM_RATIO, "%", 1, 100, 0},
    {WH_DIM_BITS, "bits", 1, 1, 0},
    {WH_DIM_BITS, "bit", 1, 1, 0},
    {WH_DIM_PRESSURE, "kPa", 1, 1, 0},
    {WH_DIM_PRESSURE, "Pa", 1, 1e3, 0},
    {WH_DIM_PRESSURE, "bar", 100, 1, 0},
    {WH_DIM_PRESSURE, "psi", 6.894757, 1, 0},
    {WH_DIM_TEMPERATURE, "degC", 1, 1, 0},
    {WH_DIM_TEMPERATURE, "degF", 5, 9, -160.0 / 9.0},
    {WH_DIM_TEMPERATURE, "K", 1, 1, -273.15},
    {WH_DIM_TEMPERATURE_STEP, "degC", 1, 1, 0},
    {WH_DIM_TEMPERATURE_STEP, "degF", 5, 9, 0},
    {WH_DIM_TEMPERATURE_STEP, "K", 1, 1, 0},
};
#define UNIT_COUNT (sizeof units / sizeof units[0])

static const struct {
    const char *name, *units;
} dimensions[WH_DIMENSION_COUNT] = {
    [WH_DIM_FREQUENCY] = {"a frequency", "Hz, kHz or MHz"},
    [WH_DIM_CHIP_RATE] = {"a chip rate", "chip/s or kchip/s"},
    [WH_DIM_BIT_RATE] = {"a bit rate", "bit/s or kbit/s"},
    [WH_DIM_DURATION] = {"a duration", "us, ms or s"},
    [WH_DIM_RATIO] = {"a ratio", "%"},
    [WH_DIM_BITS] = {"a number of bits", "bits"},
    [WH_DIM_PRESSURE] = {"a pressure", "kPa, bar, psi or Pa"},
    [WH_DIM_TEMPERATURE] = {"a temperature", "degC, degF or K"},
    [WH_DIM_TEMPERATURE_STEP] = {"a temperature difference", "degC, degF or K"},
};

static int digit_of(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return 99;
}

bool wh_integer_read(const char *text, uint64_t *value)
{
    uint64_t base = 10, sum = 0;
    if (text[0] == '0' && text[1] != '\0') {
        base = text[1] == 'x' ? 16 : text[1] == 'b' ? 2 : 0;
        if (base == 0)
            return false;
        text += 2;
    }
    if (*text == '\0')
        return false;
    for (; *text; text++) {
        const uint64_t digit = (uint64_t)digit_of(*text);
        if (digit >= base || sum > (UINT64_MAX - digit) / base)
            return false;
        sum = sum * base + digit;
    }
    *value = sum;
    return true;
}

wh_quantity_fault wh_quantity_read(const char *text, wh_dimension dimension, double *value)
{
    double number;
    const size_t used = wh_decimal_read(text, &number);
    if (used == 0)
        return WH_QUANTITY_NO_NUMBER;
    const char *const rest = text + used + strspn(text + used, " ");
    if (*rest == '\0')
        return WH_QUANTITY_NO_UNIT;
    for (size_t i = 0; i < UNIT_COUNT; i++) {
        if (units[i].dimension == dimension && strcmp(units[i].name, rest) == 0) {
            *value = (number * units[i].times / units[i].parts) + units[i].zero;
            return WH_QUANTITY_OK;
        }
    }
    return WH_QUANTITY_WRONG_UNIT;
}

const char *wh_dimension_units(wh_dimension dimension)
{
    return dimensions[dimension].units;
}

const char *wh_dimension_name(wh_dimension dimension)
{
    return dimensions[dimension].name;
}

void wh_quantity_write(double value, wh_dimension dimension, char *out, size_t capacity)
{
    const unit *best = NULL;
    double number = value;
    const bool scales = dimension == WH_DIM_FREQUENCY || dimension == WH_DIM_CHIP_RATE ||
                        dimension == WH_DIM_BIT_RATE || dimension == WH_DIM_DURATION;
    for (size_t i = 0; i < UNIT_COUNT; i++) {
        /* The first unit, or the largest that leaves a number of at least 1; the tolerance is for 0.001 s and such. */
        const double here = (value - units[i].zero) * units[i].parts / units[i].times;
        if (units[i].dimension == dimension && (!best || (scales && fabs(here) >= 1 - 1e-9))) {
            best = &units[i];
            number = here;
        }
    }
    snprintf(out, capacity, "%.9g %s", number, best ? best->name : "");
    char *const comma = strchr(out, ','); /* a locale's decimal sign */
    if (comma)
        *comma = '.';
}
