/* Findings: what is wrong at which wheel, how sure that is, why we say so, and what to do. */
#ifndef WHEELHARK_FINDING_H
#define WHEELHARK_FINDING_H

#include "wheelhark/roster.h"

typedef enum wh_finding_kind {
    WH_FINDING_NOT_HEARD,      /* not heard (yet): no proof of absence */
    WH_FINDING_NO_ANSWER,      /* woken at the wheel, others answer, this one does not */
    WH_FINDING_NOT_ON_RECORD,  /* another sensor than the recorded one, or none was recorded: enter the new ID */
    WH_FINDING_OTHER_POSITION, /* a recorded sensor of this unit sits at another wheel */
    WH_FINDING_OTHER_UNIT,     /* a sensor on record for another unit sits here */
    WH_FINDING_CROSSED,        /* two positions have each other's sensor */
    WH_FINDING_LAYOUT_UNKNOWN, /* a sensor sends here, but no descriptor reads it */
    WH_FINDING_NOT_SURE,       /* the levels do not tell which sensor is here: stand there again */
    WH_FINDING_FLAT,           /* at or below half the sidewall maximum */
    WH_FINDING_FAR_TOO_LOW,    /* at or below 80 % of target */
    WH_FINDING_LOW,
    WH_FINDING_HIGH,
    WH_FINDING_DUALS_APART, /* dual mates differ */
    WH_FINDING_SIDES_APART, /* left and right of an axle differ */
    WH_FINDING_LOSING_AIR,  /* trend of the temperature-corrected pressure */
    WH_FINDING_HOT,
    WH_FINDING_BATTERY_LOW,
    WH_FINDING_SENSOR_FAULT,
    WH_FINDING_SAME_ID, /* one ID from two transmitters */
    WH_FINDING_KIND_COUNT
} wh_finding_kind;

typedef enum wh_severity { WH_SEVERITY_NOTE, WH_SEVERITY_CHECK, WH_SEVERITY_FAULT, WH_SEVERITY_COUNT } wh_severity;

typedef struct wh_finding {
    wh_finding_kind kind;
    wh_severity severity;
    char unit[WH_UNIT_NAME_SIZE];
    wh_position position; /* where it is, or the first of the positions concerned */
    wh_position other;    /* the mate, the other side, the other end of a crossing; axle 0 when there is none */
    char other_unit[WH_UNIT_NAME_SIZE];
    char sensor[WH_SENSOR_SIZE];   /* heard; empty when none */
    char recorded[WH_SENSOR_SIZE]; /* on record; empty when none */
    double odds;                   /* probability that the finding is so, 0..1 */
    bool has_pressure;             /* the three below hold; `cold` and `target` are 0 kPa when not known */
    wh_gauge pressure;             /* as read */
    wh_gauge cold;                 /* ... and brought to the reference temperature by the gas law */
    wh_gauge target;
    bool has_temperature;
    double temperature_c;
    bool inflation;        /* touches inflation: the cautions must be shown */
    char evidence[240];    /* figures in the units asked for: "612 kPa gauge at 18.5 C, target 724 kPa cold" */
    char rule[160];        /* the rule applied, with its threshold */
    char rule_source[120]; /* regulation, standard, "common practice, no source", or "fleet setting" */
    char remedy[240];      /* what to do, one or two plain sentences */
} wh_finding;

/* Stable machine spelling, e.g. "not-on-record", and a few plain words for people. */
const char *wh_finding_kind_name(wh_finding_kind kind);
const char *wh_finding_kind_text(wh_finding_kind kind);
const char *wh_severity_name(wh_severity severity); /* "note", "check", "fault" */

#endif
