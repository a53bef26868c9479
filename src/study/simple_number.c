#include "simple_number.h"

#include <math.h>
#include <stddef.h>

#define DIGITS_MOST 6

/* 1, 2, 4, 5, 8 are the usual last digits of a step; the others come after them. */
static double liking(double count)
{
    const double last = fmod(fabs(count), 10.0);
    return last == 5.0 || last == 1.0 || fmod(last, 2.0) == 0.0 ? 0.0 : 1.0;
}

double wh_simple_number(double value, double error, unsigned *digits)
{
    unsigned used = 0;
    double best = value;
    const double size = fabs(value);
    if (size <= error) {
        best = 0.0;
    } else {
        const double top = floor(log10(size));
        for (used = 1; used <= DIGITS_MOST; used++) {
            const double unit = pow(10.0, top + 1.0 - used), middle = round(value / unit);
            double least = INFINITY;
            /* A handful of neighbours is enough: with more of them within the error, fewer digits would have done. */
            for (double count = middle - 10.0; count <= middle + 10.0; count += 1.0) {
                const double off = fabs(count * unit - value);
                if (off > error || count == 0.0)
                    continue;
                const double rank = liking(count) + 0.5 * off / error;
                if (rank < least) {
                    least = rank;
                    /* Dividing by a whole power of ten gives the nearest double to the decimal number. */
                    best = unit < 1.0 ? count / round(1.0 / unit) : count * unit;
                }
            }
            if (least < INFINITY)
                break;
        }
    }
    if (digits)
        *digits = used;
    return best;
}
