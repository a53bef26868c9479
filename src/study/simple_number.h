/* The simplest number that a measurement allows. Makers of sensors choose round steps, so of all values within the error the
 * one with the fewest digits is the likeliest. */
#ifndef WH_SIMPLE_NUMBER_H
#define WH_SIMPLE_NUMBER_H

/* Of all numbers within `error` of `value`, one with the fewest significant decimal digits (0 has none); of several the one with
 * a last digit of 5 or an even one first, then the nearest. At most six digits. *digits (may be NULL): how many. */
double wh_simple_number(double value, double error, unsigned *digits);

#endif
