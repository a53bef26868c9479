/* What the rules share while they judge one unit: the wheels as they are seen, and the list of findings they add to. */
#ifndef WH_JUDGING_H
#define WH_JUDGING_H

#include "cold_pressure.h"
#include "figures.h"
#include "identity.h"
#include "judge.h"

/* Standard deviation of a pressure reading brought to another temperature: the SP12T product brief gives +-28 kPa (0 to 50 C) as
 * a limit, taken as three of them, and +-4 C, which is 11 kPa at 690 kPa gauge; sqrt(28^2 + 11^2) / 3. */
#define WH_READING_DEVIATION_KPA 10.0

/* One wheel. */
typedef struct wh_wheel_view {
    const wh_wheel *wheel;
    const wh_seat *seat;
    wh_identity identity;
    const wh_heard *heard; /* the latest reading taken to be of this wheel; NULL when there is none */
    double odds;           /* that it is of this wheel, and right */
    wh_tire_air air;       /* what it says; `basis` WH_COLD_NONE when it has no pressure or there is no reading */
    int mate, across;      /* the other wheel of the dual pair, and the same place on the other side; -1: none */
    bool pressure_found;   /* a pressure of its own was found wrong */
} wh_wheel_view;

typedef struct wh_judging {
    const wh_judge_input *input;
    const wh_unit *unit;
    wh_wheel_view wheels[WH_WHEELS_MAX];
    unsigned wheel_count;
    wh_finding *items;
    size_t count, capacity;
    bool failed;      /* memory ran out */
    wh_finding spare; /* what rules write to then */
} wh_judging;

/* A finding at a wheel, with all that the view tells filled in: position, sensors, pressures, temperature, odds. Texts are
 * empty. It may be written to until the next call; it is never NULL. */
wh_finding *wh_judging_add(wh_judging *judging, const wh_wheel_view *view, wh_finding_kind kind, wh_severity severity);
/* What is left to say for a remedy that touches inflation: sets the flag and ends the remedy with who comes first. */
void wh_judging_inflation(wh_finding *finding, wh_phrase *remedy);
/* Source of the threshold at `offset` of wh_thresholds, into the finding. */
void wh_judging_source(const wh_judging *judging, wh_finding *finding, size_t offset);
/* Which readings of the past tell of a trend now. */
typedef struct wh_trend_window {
    int64_t
        since_us; /* from the last repair on: the last one told of, or the mark after which this sweep is looked at */
    size_t past_count; /* up to the end of the sweep, when that has a date: the past may know what came later */
} wh_trend_window;
wh_trend_window wh_judging_trend_window(const wh_judge_input *input);
/* Does this event count? */
static inline bool wh_judging_counts(const wh_judge_input *input, const wh_event *event)
{
    return input->after_id == 0 || event->id > input->after_id;
}
/* The events of the sweep that count: from *index on, NULL after the last. */
const wh_event *wh_judging_event(const wh_judging *judging, size_t *index);

#define WH_RULE_PHRASE(finding)     wh_phrase_in((finding)->rule, sizeof(finding)->rule)
#define WH_EVIDENCE_PHRASE(finding) wh_phrase_in((finding)->evidence, sizeof(finding)->evidence)
#define WH_REMEDY_PHRASE(finding)   wh_phrase_in((finding)->remedy, sizeof(finding)->remedy)

/* The rules. Each adds its findings; order between them matters only where wh_wheel_view says so. */
void wh_judge_presence(wh_judging *judging); /* not heard, no answer, layout unknown */
void wh_judge_identity(wh_judging *judging); /* not on record, other position, crossed, other unit, not sure */
void wh_judge_same_id(wh_judging *judging);
void wh_judge_pressure(wh_judging *judging); /* flat, far too low, low, high */
void wh_judge_pairs(wh_judging *judging);    /* duals apart, sides apart; after wh_judge_pressure */
void wh_judge_trend(wh_judging *judging);    /* losing air */
void wh_judge_health(wh_judging *judging);   /* hot, battery low, sensor fault */

#endif
