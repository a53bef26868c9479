/* How many there may be when so many were seen. */
#ifndef WH_POISSON_LIMIT_H
#define WH_POISSON_LIMIT_H

#include <stddef.h>

/* Upper limit of the mean of a Poisson distribution of which `seen` was drawn: with a greater mean, so few or fewer are seen
 * with a probability of at most 1 - confidence. `confidence` 0..1, exclusive. 3.00 for none seen at 0.95. */
double wh_poisson_limit(size_t seen, double confidence);

#endif
