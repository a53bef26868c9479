/* What a work sheet says, before it is set as text or HTML: every number already in the units asked for. */
#ifndef WH_SHEET_MODEL_H
#define WH_SHEET_MODEL_H

#include "sheet.h"
#include "wheel_state.h"

#define WH_SHEET_FIGURE_SIZE 24

typedef struct wh_sheet_row {
    char position[WH_POSITION_SIZE];
    wh_wheel_state state;
    const char *recorded, *heard;        /* sensor IDs; "" when none */
    char pressure[WH_SHEET_FIGURE_SIZE]; /* "724"; "fault", "n/a" where the sensor says so; "" when not heard */
    char cold[WH_SHEET_FIGURE_SIZE];     /* the same at the reference temperature; "" when it cannot be told */
    char target[WH_SHEET_FIGURE_SIZE];
    char temperature[WH_SHEET_FIGURE_SIZE];
    char odds[WH_SHEET_FIGURE_SIZE];   /* that this sensor is at this wheel */
    char figure[WH_SHEET_FIGURE_SIZE]; /* pressure with its unit, for the diagram */
} wh_sheet_row;

typedef struct wh_sheet_model {
    const wh_sheet *sheet;
    wh_sheet_row rows[WH_WHEELS_MAX]; /* in the order of the walk */
    unsigned row_count;
    char begun[48], ended[48]; /* local time with its offset; or "12.3 s" in recordings without a date */
    double listened_s, gaps_s;
    unsigned gap_count;
    bool inflation;     /* the cautions must be shown */
    wh_text unverified; /* one line each, '\n' at the end */
} wh_sheet_model;

void wh_sheet_model_make(wh_sheet_model *model, const wh_sheet *sheet);
void wh_sheet_model_free(wh_sheet_model *model);

/* Instant of a sweep as people read it: "2026-03-02 08:15:04 +01:00", or seconds from the start when it has no date. */
void wh_sheet_time(char out[48], const wh_sheet *sheet, int64_t at_us);

#endif
