/* Pauses of on-off keying: is the air silent in them? */
#ifndef WH_PAUSES_H
#define WH_PAUSES_H

#include "demod.h"

#include <stdbool.h>

/* One tone of a frequency-shift keyed burst looks like on-off keying, but then the other tone fills the pauses: the power of the
 * whole baseband does not drop when the carrier goes off. Told only when it is sure (three standard errors): an independent
 * neighbour makes the power go up and down at random.
 * `start` and `chip`: start of the first chip and length of a chip, in samples of the baseband. */
bool wh_pauses_are_filled(const wh_baseband *baseband, const wh_chips *chips, double start, double chip);

#endif
