/* Drift: a carrier that moves while it sends. */
#ifndef WH_DRIFT_H
#define WH_DRIFT_H

#include "chips.h"

/* Measure how the turn from chip to chip changes over the emission, with the chips decided by their llr and turn[][] its mean, and
 * take it out of value[][] when it is more than chance. True when something was changed: the turns must then be measured again. */
bool wh_drift_straighten(wh_chips *chips);

#endif
