/* Everything known of one unit, taken from the store and judged: what boards, sheets and lists of findings show. */
#ifndef WH_YARD_CASE_H
#define WH_YARD_CASE_H

#include "changes.h"
#include "store.h"
#include "verify.h"

typedef struct wh_case_options {
    int64_t sweep; /* which sweep; 0: the latest one round the unit */
    bool whole;    /* judge the whole sweep, also what was heard before its repair mark */
    const wh_thresholds *thresholds;
    wh_absolute site;
    bool has_ambient;
    double ambient_c;
    wh_pressure_unit pressure_unit;
    wh_temperature_unit temperature_unit;
} wh_case_options;

typedef struct wh_yard_case {
    wh_roster *roster;
    const wh_unit *unit; /* in `roster` */
    wh_sweep *sweep;
    int64_t after_id; /* the repair mark: only what came after it counts below; 0: none */
    wh_attribution *attribution;
    wh_findings *findings;
    wh_changes *changes; /* IDs to enter */
    /* Before the repair, when there is a mark: the sweep up to it, or the sweep before when that begins with the mark.
     * Judged by the roster of that time. All NULL when there is no mark, or nothing was heard before it. */
    wh_sweep *earlier;
    wh_roster *earlier_roster;
    wh_attribution *earlier_attribution;
    wh_findings *earlier_findings;
    wh_verification *verification; /* what became of them */
    int64_t repaired_us;           /* the last repair of the unit in any dated sweep; 0: none */
    wh_past *past; /* readings of the unit's sensors, on record or heard at its wheels, in order of time */
    size_t past_count;
} wh_yard_case;

/* WH_ERR_NOT_FOUND: no such unit in the roster (the error names the nearest), or no sweep round it yet. Free the result with
 * wh_yard_case_free. */
wh_status wh_yard_case_load(wh_store *store, const char *unit, const wh_case_options *options, wh_yard_case **out,
                            wh_error *error);
void wh_yard_case_free(wh_yard_case **yard_case);

#endif
