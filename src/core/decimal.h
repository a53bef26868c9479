/* Numbers in text, read the same in every locale: the decimal point is always '.'. */
#ifndef WH_DECIMAL_H
#define WH_DECIMAL_H

#include <stddef.h>

/* Read [+-]digits[.digits][e[+-]digits] at the start of `text`. Returns the characters used, or 0 (and *value
 * untouched) when no number stands there or it is beyond the range of double. No blanks are skipped. */
size_t wh_decimal_read(const char *text, double *value);

#endif
