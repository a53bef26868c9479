/* Kept chips: what one kind of radio made of a clear burst serves all kinds in whose windows it lies, so that descriptors that differ a
 * little in nominal rate or deviation cost one demodulation and not one each. */
#ifndef WH_KEPT_CHIPS_H
#define WH_KEPT_CHIPS_H

#include "demod.h"

#include <stdbool.h>
#include <stddef.h>

#define WH_KEPT_RUNS      8
#define WH_KEPT_EMISSIONS 4

typedef struct wh_kept_run {
    wh_radio radio;
    unsigned zero_run;
    size_t count;
    wh_chips chips[WH_KEPT_EMISSIONS]; /* owned */
} wh_kept_run;

typedef struct wh_kept_chips {
    size_t count;   /* whole runs */
    bool recording; /* run[count] is being filled */
    wh_kept_run run[WH_KEPT_RUNS];
} wh_kept_chips;

void wh_kept_chips_free(wh_kept_chips *kept);
void wh_kept_chips_forget(wh_kept_chips *kept); /* at the next burst */
/* Record a run: begin, every emission's chips, end. `whole`: no emission was passed over, so that others would find no more. */
void wh_kept_chips_begin(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits);
void wh_kept_chips_add(wh_kept_chips *kept, const wh_chips *chips);
void wh_kept_chips_end(wh_kept_chips *kept, bool whole);
/* Of a run that was not recorded only this emission is to be kept, beside others added so. */
void wh_kept_chips_add_known(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits,
                             const wh_chips *chips);
/* Give what this radio would make of the burst, when a recorded run tells; false when none does. *given: emissions. */
bool wh_kept_chips_give(wh_kept_chips *kept, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                        void *context, size_t *given);

#endif
