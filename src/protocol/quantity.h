/* Numbers with units, as a descriptor writes them: "35 kHz", "2.5 kPa", "-40 degC". Independent of the locale. */
#ifndef WH_QUANTITY_H
#define WH_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Kinds of quantity and the unit they come out in. */
typedef enum wh_dimension {
    WH_DIM_FREQUENCY,        /* Hz */
    WH_DIM_CHIP_RATE,        /* chip/s */
    WH_DIM_BIT_RATE,         /* bit/s */
    WH_DIM_DURATION,         /* s */
    WH_DIM_RATIO,            /* 1; written in % */
    WH_DIM_BITS,             /* bits */
    WH_DIM_PRESSURE,         /* kPa */
    WH_DIM_TEMPERATURE,      /* degC, a point on the scale: 32 degF is 0 */
    WH_DIM_TEMPERATURE_STEP, /* degC, a difference: 1.8 degF is 1 */
    WH_DIMENSION_COUNT
} wh_dimension;

/* Read a whole text as an unsigned integer: decimal, 0x... or 0b.... A leading zero is refused: 010 means eight to
 * some and ten to others. */
bool wh_integer_read(const char *text, uint64_t *value);

typedef enum wh_quantity_fault {
    WH_QUANTITY_OK,
    WH_QUANTITY_NO_NUMBER,
    WH_QUANTITY_NO_UNIT,
    WH_QUANTITY_WRONG_UNIT
} wh_quantity_fault;

/* Read a number and its unit, with or without spaces between. *value changes only on success. */
wh_quantity_fault wh_quantity_read(const char *text, wh_dimension dimension, double *value);
/* The units a dimension may be written in: "Hz, kHz or MHz". */
const char *wh_dimension_units(wh_dimension dimension);
/* What is measured: "a frequency". */
const char *wh_dimension_name(wh_dimension dimension);
/* Write `value` (in the unit the dimension comes out in) in its handiest unit: 35000 -> "35 kHz". */
void wh_quantity_write(double value, wh_dimension dimension, char *out, size_t capacity);

#endif
