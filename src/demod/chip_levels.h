/* What the correlations of an emission's chips tell together: amplitude, noise, likelihoods, and how the phase runs on. */
#ifndef WH_CHIP_LEVELS_H
#define WH_CHIP_LEVELS_H

#include "chips.h"

/* Fill amplitude, noise, snr_db, llr, turn and coherent from value, keyed, first, last and count. `on_power`: square-law power of an
 * on chip, rough; `noise`: variance of a correlation by the detector's noise floor, a lower bound; radians_per_chip: the carrier's
 * turn, where the chips do not show it themselves. */
void wh_chips_judge(wh_chips *chips, float on_power, float noise, double radians_per_chip);

#endif
