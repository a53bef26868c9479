/* Findings about one unit: pure functions over roster, attribution, sweep and history. */
#ifndef WH_JUDGE_H
#define WH_JUDGE_H

#include "attribution.h"
#include "thresholds.h"
#include "trend.h"
#include "wheelhark/finding.h"

typedef struct wh_judge_input {
    const wh_roster *roster;
    const char *unit;
    const wh_sweep *sweep; /* what the attribution was made from */
    int64_t after_id;      /* only its events with a greater id count, as in wh_attribute; 0: all */
    const wh_attribution *attribution;
    const wh_past *past; /* of all sensors of the unit, in order of time, this sweep included; may be NULL */
    size_t past_count;
    int64_t repaired_us; /* the last repair of the unit: trends begin anew after it; 0 when there was none */
    const wh_thresholds *thresholds;
    wh_absolute site; /* atmosphere at the site */
    bool has_ambient;
    double ambient_c;               /* temperature of the air, when somebody measured it */
    wh_pressure_unit pressure_unit; /* of the texts */
    wh_temperature_unit temperature_unit;
} wh_judge_input;

typedef struct wh_findings {
    wh_finding *items; /* most severe first, then in the order of the walk, then by kind */
    size_t count;
} wh_findings;

wh_status wh_judge(const wh_judge_input *input, wh_findings **out, wh_error *error);
void wh_findings_free(wh_findings **findings);

/* The cautions that belong beside every finding with `inflation` set: lines of plain text, NULL at the end. */
extern const char *const wh_cautions[];

#endif
