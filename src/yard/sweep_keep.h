/* Whose readings are kept. Passing traffic and neighbouring yards carry sensors too, and their IDs are other people's data:
 * what is not the fleet's own is not kept, unless it may be the answer at a wheel of ours. */
#ifndef WH_SWEEP_KEEP_H
#define WH_SWEEP_KEEP_H

#include "sweep_list.h"

/* A sensor in the tire one stands at is 20 dB weaker at worst with the wheel turned badly (published measurements of wheel
 * sensors: up to 20 dB over the wheel's angle); 5 dB for the spread of transmit powers. */
#define WH_KEEP_WITHIN_DB 25.0
/* A strongest level for when nothing was heard yet. */
#define WH_KEEP_SILENCE_DBFS (-200.0)

/* Keep a HEARD or UNKNOWN event? Yes for sensors on record anywhere in the roster, and for those the technician bound in this
 * sweep. Others only while he stands at a wheel, and not when they are more than WH_KEEP_WITHIN_DB weaker than the strongest
 * heard at wheels of this sweep so far, which is near the best case after one or two wheels: nothing at his feet is that
 * faint. */
bool wh_sweep_keeps(const wh_roster *roster, const wh_sweep *sweep, double strongest_dbfs, const wh_event *event);

#endif
