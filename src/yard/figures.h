/* Figures as findings write them: in the units asked for, "gauge" said, the same in every locale. */
#ifndef WH_FIGURES_H
#define WH_FIGURES_H

#include "wheelhark/units.h"

#include <stddef.h>

/* A sentence being written into an array of fixed size. What does not fit is cut, with "..." at the end. */
typedef struct wh_phrase {
    char *text;
    size_t size, length; /* of the array; of the text without its NUL */
} wh_phrase;

/* An empty phrase in text[size], size >= 4. */
wh_phrase wh_phrase_in(char *text, size_t size);
void wh_phrase_add(wh_phrase *phrase, const char *format, ...) __attribute__((format(printf, 2, 3)));

#define WH_FIGURE_SIZE 48

/* All return `out`. "612 kPa gauge", "6.12 bar gauge", "88.8 psi gauge". */
const char *wh_gauge_figure(char out[WH_FIGURE_SIZE], wh_gauge pressure, wh_pressure_unit unit);
/* A difference between pressures: "41 kPa". */
const char *wh_difference_figure(char out[WH_FIGURE_SIZE], double kpa, wh_pressure_unit unit);
/* A pressure change by day, without the day: "8.3 kPa", "1.2 psi"; `say_unit` false leaves the unit out. */
const char *wh_rate_figure(char out[WH_FIGURE_SIZE], double kpa, wh_pressure_unit unit, bool say_unit);
/* "18.5 C", "65.3 F". */
const char *wh_temperature_figure(char out[WH_FIGURE_SIZE], double celsius, wh_temperature_unit unit);
/* "85 %"; odds that are not quite 0 or 1 never read "0 %" or "100 %". */
const char *wh_share_figure(char out[WH_FIGURE_SIZE], double share);
/* A length of time: "45 s", "4 min", "3 h", "12 days". */
const char *wh_duration_figure(char out[WH_FIGURE_SIZE], double seconds);

#endif
