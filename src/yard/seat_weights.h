/* What speaks for each sensor at each wheel: levels, answers and the record, brought to one weight per pair. The model is
 * written down in DEVELOPERS.md, "Attribution". */
#ifndef WH_SEAT_WEIGHTS_H
#define WH_SEAT_WEIGHTS_H

#include "level_model.h"
#include "match_odds.h"
#include "walk_log.h"

typedef struct wh_seat_weights {
    unsigned seat_count;
    size_t witness_count;
    /* witness_count x seat_count, natural logarithms, against "it is elsewhere": */
    double *heard; /* what was heard: levels and answers */
    double *all;   /* that, and the record */
    double log_empty[WH_WHEELS_MAX];
} wh_seat_weights;

/* Fits the model's reference level first. WH_ERR_MEMORY; wh_seat_weights_free in any case. */
wh_status wh_seat_weights_make(wh_seat_weights *weights, const wh_roster *roster, const wh_walk_log *walk,
                               wh_level_model *model);
void wh_seat_weights_free(wh_seat_weights *weights);

#endif
