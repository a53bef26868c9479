/* Emissions of one kind laid over each other by what they have in common, wherever each begins. */
#ifndef WH_CHIP_ALIGN_H
#define WH_CHIP_ALIGN_H

#include "emission_set.h"

#include <stdbool.h>
#include <stddef.h>

/* What the columns hold, over all aligned strong emissions. */
typedef struct wh_columns {
    long first;      /* column of the first entry */
    size_t count;    /* of entries below */
    float *mean;     /* -1..1: mean sign of the chips heard */
    unsigned *heard; /* emissions that have a chip there */
    size_t emissions;
    long begin, vary,
        end; /* columns [begin, vary) are the same in all; the first one that is not is `vary` (= end when none) */
} wh_columns;

/* Give each emission its column0, and `aligned` where it shares a beginning with the others; column 0 is the reference's first chip.
 * Those that do not are left for another group. Returns how many are aligned; 0 when no two are alike. */
size_t wh_align_emissions(wh_emission_set *set);
/* Sum up the aligned ones. False when memory is out. */
bool wh_columns_make(const wh_emission_set *set, wh_columns *columns);
void wh_columns_free(wh_columns *columns);
/* +1, -1, or 0 where the column is not the same in all. */
int wh_columns_common(const wh_columns *columns, long column);

/* Distance in chips after which an emission repeats itself to its end, 0 when it does not: copies without a pause between. */
size_t wh_repeat_of(const wh_study_emission *emission);

#endif
