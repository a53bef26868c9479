/* What each column of a table of frames does: never changes, changes with the sensor, with time, or from frame to frame. */
#ifndef WH_STUDY_COLUMNS_H
#define WH_STUDY_COLUMNS_H

#include "check_search.h"
#include "field_rows.h"

typedef enum wh_column_kind {
    WH_COLUMN_CONSTANT, /* the same in all frames */
    WH_COLUMN_SENSOR,   /* the same in all frames of a sensor, not in all */
    WH_COLUMN_SLOW,     /* changes within a sensor, as part of a number that changes little */
    WH_COLUMN_COUNTER,  /* part of a number that goes on by the same step from frame to frame */
    WH_COLUMN_RANDOM,   /* changes from frame to frame like the toss of a coin */
    WH_COLUMN_CHECK,    /* follows from the others */
    WH_COLUMN_KIND_COUNT
} wh_column_kind;

const char *
wh_column_kind_name(wh_column_kind kind); /* "constant", "per sensor", "slow", "counter", "random", "check" */

typedef struct wh_column {
    wh_column_kind kind;
    double probability; /* that it is of this kind, given the number of frames and sensors */
    unsigned changes,
        pairs; /* from a frame to the next of the same sensor: pairs looked at, and in how many it changed */
} wh_column;

/* A run of columns that is read as a number. */
typedef struct wh_number_place {
    unsigned at, bits;
    bool low_bit_first;
    bool counter;
    double step;        /* mean change from frame to frame, absolute; counters: the step */
    double probability; /* that it is a slow number (or counter) and not a coincidence of single bits */
} wh_number_place;

#define WH_NUMBERS_MAX 16

typedef struct wh_columns {
    unsigned count, sensors;
    wh_column column[WH_FRAME_BITS_MAX];
    unsigned number_count;
    wh_number_place number[WH_NUMBERS_MAX]; /* in order of place; do not overlap */
} wh_columns;

/* `rows` with their sensors numbered (0 .. sensors - 1). Columns of found checks are checks. `grid`: bit at which a
 * byte begins, modulo 8. */
void wh_columns_classify(const wh_field_rows *rows, unsigned sensors, const wh_check_search *checks, unsigned grid,
                         wh_columns *out);

#endif
