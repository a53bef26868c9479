/* One group of bursts with the same radio: emissions laid over each other, line code and framing estimated, frames read. */
#ifndef WH_KIND_STUDY_H
#define WH_KIND_STUDY_H

#include "emission_set.h"
#include "frame_table.h"

#include <stdbool.h>
#include <stddef.h>

/* Tools used by every kind. */
typedef struct wh_kind_tools {
    wh_burst_store *store;
    wh_demod *demod;
} wh_kind_tools;

/* Soft chips of the bursts, each demodulated with what its own shape says. Emissions that repeat themselves are cut into copies. */
void wh_kind_emissions(const wh_kind_tools *tools, const size_t *member, size_t count, wh_emission_set *set);

typedef enum wh_kind_outcome {
    WH_KIND_FRAMES,  /* the table is filled, or `missing` says why it is empty */
    WH_KIND_NOTHING, /* no two emissions are alike */
    WH_KIND_NO_MEMORY
} wh_kind_outcome;

#define WH_MISSING_SIZE 240

/* Find the largest group of like emissions of the set, fill the table from it, and take its emissions out of the set. `member`: bursts
 * in which frames of it are looked for; those that hold some get kind `number`. Rows are the caller's to free. `missing` is filled with "" or with what is missing. */
wh_kind_outcome wh_kind_study(const wh_kind_tools *tools, wh_emission_set *set, const size_t *member, size_t count,
                              int number, wh_frame_table *table, char missing[WH_MISSING_SIZE]);

#endif
