#include "judge.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judging.h"

/* An unsure seat's pressure is worth telling when its sensor is more likely here than not: a low tire must not hide behind a
 * doubt about which wheel it is. */
#define PRESSURE_ODDS 0.5

static const wh_stranger *find_stranger(const wh_attribution *attribution, const char *sensor)
{
    for (size_t i = 0; *sensor && i < attribution->stranger_count; i++) {
        if (strcmp(attribution->strangers[i].sensor, sensor) == 0)
            return &attribution->strangers[i];
    }
    return NULL;
}

static int find_place(const wh_unit *unit, wh_position position)
{
    const wh_wheel *wheel = wh_unit_wheel_const(unit, position);
    return wheel ? (int)(wheel - unit->wheels) : -1;
}

static void find_neighbours(const wh_unit *unit, wh_wheel_view *view)
{
    wh_position mate = view->wheel->position, across = mate;
    across.side = mate.side == WH_LEFT ? WH_RIGHT : WH_LEFT;
    view->across = find_place(unit, across);
    view->mate = -1;
    if (mate.place != WH_SINGLE) {
        mate.place = mate.place == WH_OUTER ? WH_INNER : WH_OUTER;
        view->mate = find_place(unit, mate);
    }
}

static bool is_on_record(const wh_unit *unit, const char *sensor)
{
    for (unsigned i = 0; *sensor && i < unit->wheel_count; i++) {
        if (strcmp(unit->wheels[i].sensor, sensor) == 0)
            return true;
    }
    return false;
}

/* The reading taken to be of this wheel: of the sensor that is here; or of one of the unit's own that is more likely here than
 * not (a neighbour's low tire must not become this unit's); else of the sensor on record here, when it was heard and belongs to
 * no other wheel. */
static void take_reading(const wh_judge_input *input, const wh_unit *unit, wh_wheel_view *view)
{
    const wh_seat *seat = view->seat;
    const bool likely = seat->odds >= PRESSURE_ODDS && is_on_record(unit, seat->sensor);
    if (seat->answered && (wh_seat_filled(seat, input->thresholds->sure_odds) || likely)) {
        view->heard = &seat->latest;
        view->odds = seat->state == WH_SEAT_BOUND ? 1.0 : seat->odds;
    } else {
        const wh_stranger *own = find_stranger(input->attribution, view->wheel->sensor);
        if (!own)
            return;
        view->heard = &own->latest;
        view->odds = PRESSURE_ODDS;
    }
    view->odds *= view->heard->confidence;
    view->air = wh_tire_air_of(view->heard, input->thresholds->reference_c, input->site);
}

static void look_at_wheels(wh_judging *judging)
{
    const wh_judge_input *input = judging->input;
    wh_identity identities[WH_WHEELS_MAX];
    wh_identify(input->roster, judging->unit, input->attribution, input->thresholds->sure_odds, identities);
    judging->wheel_count = judging->unit->wheel_count;
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        wh_wheel_view *view = &judging->wheels[i];
        view->wheel = &judging->unit->wheels[i];
        view->seat = &input->attribution->seats[i];
        view->identity = identities[i];
        find_neighbours(judging->unit, view);
        take_reading(input, judging->unit, view);
    }
}

wh_finding *wh_judging_add(wh_judging *judging, const wh_wheel_view *view, wh_finding_kind kind, wh_severity severity)
{
    if (judging->count == judging->capacity && !judging->failed) {
        const size_t capacity = judging->capacity ? 2 * judging->capacity : 16;
        wh_finding *items = realloc(judging->items, capacity * sizeof *items);
        judging->failed = !items;
        if (items) {
            judging->items = items;
            judging->capacity = capacity;
        }
    }
    wh_finding *finding = judging->failed ? &judging->spare : &judging->items[judging->count++];
    *finding = (wh_finding){.kind = kind, .severity = severity, .position = view->wheel->position, .odds = view->odds};
    snprintf(finding->unit, sizeof finding->unit, "%s", judging->unit->name);
    snprintf(finding->recorded, sizeof finding->recorded, "%s", view->wheel->sensor);
    snprintf(finding->sensor, sizeof finding->sensor, "%s", view->heard ? view->heard->sensor : "");
    if (view->air.basis != WH_COLD_NONE) {
        finding->has_pressure = true;
        finding->pressure = view->air.pressure;
        finding->cold = view->air.cold;
        finding->target = view->wheel->target;
    }
    if (view->heard && view->heard->temperature_state == WH_VALUE_OK) {
        finding->has_temperature = true;
        finding->temperature_c = view->heard->temperature_c;
    }
    return finding;
}

void wh_judging_inflation(wh_finding *finding, wh_phrase *remedy)
{
    finding->inflation = true;
    wh_phrase_add(remedy, " Vehicle maker, local rules and licensed practice come first.");
}

void wh_judging_source(const wh_judging *judging, wh_finding *finding, size_t offset)
{
    snprintf(finding->rule_source, sizeof finding->rule_source, "%s",
             wh_threshold_source(judging->input->thresholds, offset));
}

const wh_event *wh_judging_event(const wh_judging *judging, size_t *index)
{
    const wh_sweep *sweep = judging->input->sweep;
    for (; sweep && *index < sweep->event_count; (*index)++) {
        if (wh_judging_counts(judging->input, &sweep->events[*index]))
            return &sweep->events[*index];
    }
    return NULL;
}

/* The order of the walk is that of the unit's wheels; what belongs to no wheel comes last. */
static int by_weight(const void *a, const void *b, const wh_unit *unit)
{
    const wh_finding *one = a, *two = b;
    if (one->severity != two->severity)
        return one->severity > two->severity ? -1 : 1;
    const unsigned first = (unsigned)find_place(unit, one->position);
    const unsigned second = (unsigned)find_place(unit, two->position);
    if (first != second)
        return first < second ? -1 : 1;
    return (int)one->kind - (int)two->kind;
}

/* Insertion keeps findings of one kind at one wheel in the order in which they were made. */
static void sort(wh_judging *judging)
{
    for (size_t i = 1; i < judging->count; i++) {
        const wh_finding finding = judging->items[i];
        size_t at = i;
        for (; at > 0 && by_weight(&judging->items[at - 1], &finding, judging->unit) > 0; at--)
            judging->items[at] = judging->items[at - 1];
        judging->items[at] = finding;
    }
}

static wh_status check_input(const wh_judge_input *input, const wh_unit **unit, wh_error *error)
{
    *unit = wh_roster_find(input->roster, input->unit);
    if (!*unit)
        return wh_fail(error, WH_ERR_NOT_FOUND, "add it to the roster", "there is no unit %s on record", input->unit);
    const wh_attribution *attribution = input->attribution;
    if (strcmp(attribution->unit, input->unit) != 0 || attribution->seat_count != (*unit)->wheel_count)
        return wh_fail(error, WH_ERR_ARGUMENT, "work the attribution out anew",
                       "the attribution is of unit %s with %u wheels, not of %s with %u", attribution->unit,
                       attribution->seat_count, input->unit, (*unit)->wheel_count);
    return WH_OK;
}

wh_status wh_judge(const wh_judge_input *input, wh_findings **out, wh_error *error)
{
    *out = NULL;
    const wh_unit *unit;
    const wh_status status = check_input(input, &unit, error);
    if (status != WH_OK)
        return status;
    wh_findings *findings = calloc(1, sizeof *findings);
    wh_judging *judging = calloc(1, sizeof *judging);
    if (findings && judging) {
        judging->input = input;
        judging->unit = unit;
        look_at_wheels(judging);
        wh_judge_presence(judging);
        wh_judge_identity(judging);
        wh_judge_same_id(judging);
        wh_judge_pressure(judging);
        wh_judge_pairs(judging);
        wh_judge_trend(judging);
        wh_judge_health(judging);
    }
    if (!findings || !judging || judging->failed) {
        free(judging ? judging->items : NULL);
        free(judging);
        free(findings);
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for the findings of unit %s", input->unit);
    }
    sort(judging);
    *findings = (wh_findings){judging->items, judging->count};
    free(judging);
    *out = findings;
    return WH_OK;
}

void wh_findings_free(wh_findings **findings)
{
    if (*findings) {
        free((*findings)->items);
        free(*findings);
        *findings = NULL;
    }
}
