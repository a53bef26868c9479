/* Kept chips: emissions that were decoded beyond doubt serve all kinds of radio in whose windows they lie, so that
 * descriptors that differ a little in nominal rate or deviation cost one demodulation and not one each. */
#ifndef WH_KEPT_CHIPS_H
#define WH_KEPT_CHIPS_H

#include "demod.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_KEPT_EMISSIONS 4

/* Starts out zeroed. */
typedef struct wh_kept_chips {
    wh_radio radio; /* that made them */
    unsigned zero_run;
    size_t count;
    wh_chips chips[WH_KEPT_EMISSIONS]; /* owned */
} wh_kept_chips;

void wh_kept_chips_free(wh_kept_chips *kept);
void wh_kept_chips_forget(wh_kept_chips *kept); /* at the next burst */
/* All of one radio; beyond WH_KEPT_EMISSIONS none is kept. */
void wh_kept_chips_add(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits,
                       const wh_chips *chips);
/* Give what this radio would make of them; false when it would have to look for itself. *given: emissions. */
bool wh_kept_chips_give(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                        void *context, size_t *given);

#endif
