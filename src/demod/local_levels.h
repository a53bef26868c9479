/* Levels that change within an emission: fading, interference that hits one tone or a few chips, pulses. */
#ifndef WH_LOCAL_LEVELS_H
#define WH_LOCAL_LEVELS_H

#include "chips.h"

/* A chip with so many times the power of an on chip was hit by something else: of honest chips at 4 dB, one in 10 000 has. */
#define WH_CHIP_HIT 3.0f

/* Follow amplitude and noise over the chips first .. last - 1 and weigh each chip by its own: value and cost are set so that
 * wh_chips_likelihood is right with chips->amplitude and chips->noise. llr is used as scratch. Chips outside first .. last keep the
 * levels of the whole. `floor`: variance of a correlation by the detector's noise floor, a lower bound; `on_power`: square-law power
 * of an on chip, rough; `bar`: power that tells an on chip from an off one, for on-off keying. */
void wh_local_levels(wh_chips *chips, float floor, float on_power, float bar);

#endif
