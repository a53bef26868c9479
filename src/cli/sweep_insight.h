/* What a walk has shown so far: which sensor is at which wheel, and what is wrong there. Worked out when it is asked for and
 * something has happened since. */
#ifndef WH_SWEEP_INSIGHT_H
#define WH_SWEEP_INSIGHT_H

#include "judge.h"
#include "sweep_list.h"

typedef struct wh_sweep_insights wh_sweep_insights;

/* One unit, seen at one moment; valid until insights are asked for after a further event. */
typedef struct wh_sweep_insight {
    const wh_unit *unit;
    const wh_attribution *attribution; /* of what was heard since the last repair mark */
    const wh_findings *findings;
} wh_sweep_insight;

typedef struct wh_insight_options {
    const wh_thresholds *thresholds;
    wh_absolute site;
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
} wh_insight_options;

/* `roster` and `options` must outlive the result. NULL when memory is out. */
wh_sweep_insights *wh_sweep_insights_create(const wh_roster *roster, const wh_insight_options *options);
void wh_sweep_insights_destroy(wh_sweep_insights **insights);
/* NULL after a failure (*error says why). */
const wh_sweep_insight *wh_sweep_insight_of(wh_sweep_insights *insights, const wh_sweep *sweep, const char *unit,
                                            wh_error *error);
/* Work everything out anew when it is asked for next: the options changed. */
void wh_sweep_insights_forget(wh_sweep_insights *insights);
/* The seat of a wheel; NULL when there is none. */
const wh_seat *wh_insight_seat(const wh_sweep_insight *insight, wh_position position);
/* Nobody needs to stand there again: a sensor is surely there, or the technician said which. */
bool wh_insight_settled(const wh_seat *seat);

#endif
