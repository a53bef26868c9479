/* Storm: more bursts at once than anybody has sensors for. Beyond a bound the weakest are left out, so that the time a second of air
 * takes is bounded whatever is on it. Strength is what a burst holds for some milliseconds: an engine's ignition makes a hundred strong
 * pulses a second, and none of them is a sensor. */
#ifndef WH_STORM_H
#define WH_STORM_H

#include <stdbool.h>
#include <stddef.h>

/* Work on bursts of together so many seconds may end within a second of air. Most of the work on a burst does not depend on its length:
 * on one core some 2 ms for a burst of 8 ms with a dozen descriptors, 6 to 10 ms for one of 150 ms. In the unit of the bound that is
 * 12 ms and a third of the length, and a busy yard's 20 bursts of 15 ms are a sixth of it. */
#define WH_STORM_MOST_S  2.0
#define WH_STORM_BURST_S 12e-3
#define WH_STORM_SHARE   (1.0 / 3.0)
#define WH_STORM_MEMORY  1024 /* bursts remembered; more than that within a second are judged by the newest */

typedef struct wh_storm_burst {
    double end_s, cost_s, held_db;
    bool admitted;
} wh_storm_burst;

/* A zeroed one is ready. */
typedef struct wh_storm {
    size_t count; /* bursts so far */
    wh_storm_burst burst[WH_STORM_MEMORY];
} wh_storm;

/* Shall this burst be worked on? Up to half of the bound all are; from there on the more of the last second's bursts are weaker than it
 * must be the nearer the bound is, and beyond it none. Depends on the bursts alone, told in order of their end. */
bool wh_storm_admits(wh_storm *storm, double end_s, double length_s, double held_db);

#endif
