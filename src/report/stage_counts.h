/* How far bursts got in the signal path with one descriptor: counts by stage, and where each burst was lost. */
#ifndef WH_STAGE_COUNTS_H
#define WH_STAGE_COUNTS_H

#include "text_buffer.h"
#include "wheelhark/reading.h"

#include <stdbool.h>
#include <stddef.h>

/* Bursts told one by one. Beyond, they are only counted. */
#define WH_LOST_BURSTS_MAX 200

typedef struct wh_lost_burst {
    wh_burst burst;
    char detail[160]; /* of the attempt; "" when there was none */
} wh_lost_burst;

/* Zeroed it is empty. */
typedef struct wh_stage_counts {
    size_t bursts, readings;
    size_t lost[WH_STAGE_COUNT][WH_REASON_COUNT]; /* bursts by the stage at which they ended, and why */
    size_t listed;
    wh_lost_burst *list; /* [WH_LOST_BURSTS_MAX], owned */
    bool failed;         /* memory ran out */
} wh_stage_counts;

/* As the receiver's sink tells them: a burst, then attempts at it. Of several attempts the furthest is told. */
void wh_stage_counts_burst(wh_stage_counts *counts, const wh_burst *burst);
void wh_stage_counts_attempt(wh_stage_counts *counts, const wh_attempt *attempt);
/* A table of stages, then the lost bursts one a line. `name`: of the descriptor. */
void wh_stage_counts_text(const wh_stage_counts *counts, const char *name, wh_text *text);
void wh_stage_counts_free(wh_stage_counts *counts);

#endif
