/* The chip clock: rate and phase that open the eye widest over the whole burst. No loop that would need to settle: bursts of
 * a hundred chips are too short for one. */
#ifndef WH_CLOCK_H
#define WH_CLOCK_H

#include <stddef.h>

#define WH_CLOCK_STEPS 8 /* metric samples per nominal chip */

typedef struct wh_clock {
    double phase;    /* first chip's place in metric samples from `metric[0]`, 0 .. length of a chip */
    double chip;     /* length of a chip in metric samples, about WH_CLOCK_STEPS */
    double contrast; /* mean |metric| at the chips over the mean over all, >= 1 or so; 1 = no clock */
} wh_clock;

/* metric[j]: signed decision metric of a chip that starts at sample j, WH_CLOCK_STEPS samples per nominal chip, [count].
 * Searches chip rates within +-tolerance of the nominal one. `least_contrast` is 0 for weak bursts. Above 0 the burst is
 * strong enough for a quicker search, and a clock of less contrast is not worth the caller's while: it comes back as the search's
 * grid has it, a quarter chip off or so. */
wh_clock wh_clock_find(const float *metric, size_t count, double tolerance, double least_contrast);

#endif
