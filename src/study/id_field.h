/* Where the sensor ID stands: the bits that stay with a sensor, with the odds of each place that fits. */
#ifndef WH_STUDY_ID_FIELD_H
#define WH_STUDY_ID_FIELD_H

#include "columns.h"

typedef struct wh_id_candidate {
    unsigned at, bits;
    double probability;
} wh_id_candidate;

#define WH_ID_CANDIDATES_MAX 8

typedef struct wh_id_search {
    unsigned count; /* most likely first; 0: no sensors were told apart, or nothing fits */
    wh_id_candidate candidate[WH_ID_CANDIDATES_MAX];
    double rest; /* probability of all others together */
} wh_id_search;

/* `taken`: columns that are known to belong to something else (pressure, temperature, checks). `grid`: bit at which a byte
 * begins, modulo 8. */
void wh_id_search_run(const wh_columns *columns, const wh_frame_bits *taken, unsigned grid, wh_id_search *out);

#endif
