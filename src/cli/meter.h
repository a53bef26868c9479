/* The clock and the progress bar of a run: both for stderr only, neither may reach a result. */
#ifndef WH_METER_H
#define WH_METER_H

#include <stdbool.h>
#include <stdint.h>

typedef struct wh_meter {
    bool able, wanted, visible;
    double begun_s, drawn_s; /* of the monotonic clock */
} wh_meter;

/* Start the clock. The bar appears only when it is wanted and stderr is a terminal that can take it. */
void wh_meter_begin(wh_meter *meter, bool wanted);
double wh_meter_seconds(const wh_meter *meter);
/* Draw the bar when a second has gone by and it was not drawn just now. `total` 0: unknown, nothing is drawn. */
void wh_meter_show(wh_meter *meter, const char *name, uint64_t done, uint64_t total);
/* Columns for a passing note on stderr; 0 when it is no terminal that could take it away again. */
unsigned wh_meter_note_columns(const wh_meter *meter);
/* Show a note of at most so many columns until the next note or wh_meter_hide. */
void wh_meter_note(wh_meter *meter, const char *note);
/* Take the bar or note away before anything else is written to the terminal. */
void wh_meter_hide(wh_meter *meter);

#endif
