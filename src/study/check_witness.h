/* Does some check hold in these frames? Tells line codes apart that make the same chips: only bits decoded with the right one keep the
 * promise of a check. Which check it is does not matter here. */
#ifndef WH_CHECK_WITNESS_H
#define WH_CHECK_WITNESS_H

#include <stddef.h>

#define WH_WITNESS_MOST 40.0

/* bits[row x stride + k], 0 or 1: `rows` different frames of `count` bits each, the check at their end. Returns -log2 of the
 * probability, about, that random frames look so much as if they had a check; 0..WH_WITNESS_MOST. */
double wh_check_witness(const unsigned char *bits, size_t rows, size_t stride, size_t count);

#endif
