#include "verify_proof.h"

#include <stdlib.h>
#include <string.h>

#include "judging.h"

/* One ID that two transmitters share shows itself when both take turns: four readings without contradiction (assumption). */
#define READINGS_OF_ONE 4

static bool heard_after(const wh_judge_input *after, const char *sensor)
{
    const wh_sweep *sweep = after->sweep;
    for (size_t i = sweep ? sweep->event_count : 0; i-- > 0;) {
        const wh_event *event = &sweep->events[i];
        if (!wh_judging_counts(after, event))
            return false;
        if (event->kind == WH_EVENT_HEARD && strcmp(event->heard.sensor, sensor) == 0)
            return true;
    }
    return false;
}

const wh_seat *wh_seat_heard_since(const wh_judge_input *after, wh_position position)
{
    for (unsigned i = 0; i < after->attribution->seat_count; i++) {
        const wh_seat *seat = &after->attribution->seats[i];
        if (wh_position_equal(seat->position, position))
            return seat->answered && wh_seat_filled(seat, after->thresholds->sure_odds) &&
                           heard_after(after, seat->sensor)
                       ? seat
                       : NULL;
    }
    return NULL;
}

bool wh_finding_has_two_wheels(const wh_finding *finding)
{
    return finding->kind == WH_FINDING_CROSSED || finding->kind == WH_FINDING_DUALS_APART ||
           finding->kind == WH_FINDING_SIDES_APART;
}

/* "726 kPa gauge at 21.0 C" */
static void add_pressure(const wh_judge_input *after, const wh_seat *seat, wh_phrase *text)
{
    char figure[WH_FIGURE_SIZE];
    const wh_tire_air air = wh_tire_air_of(&seat->latest, after->thresholds->reference_c, after->site);
    wh_phrase_add(text, "%s", wh_gauge_figure(figure, air.pressure, after->pressure_unit));
    if (air.basis == WH_COLD_CORRECTED)
        wh_phrase_add(text, " at %s", wh_temperature_figure(figure, air.temperature_c, after->temperature_unit));
}

static bool pressure_proved(const wh_finding *before, const wh_judge_input *after, const wh_seat *seat,
                            const wh_seat *other, wh_phrase *text)
{
    if (seat->latest.pressure_state != WH_VALUE_OK || (other && other->latest.pressure_state != WH_VALUE_OK)) {
        wh_phrase_add(text, "heard since, but without a pressure");
        return false;
    }
    char figure[WH_FIGURE_SIZE];
    if (before->has_pressure)
        wh_phrase_add(text, "%s before, ", wh_gauge_figure(figure, before->pressure, after->pressure_unit));
    add_pressure(after, seat, text);
    if (other) {
        wh_phrase_add(text, " and ");
        add_pressure(after, other, text);
    }
    wh_phrase_add(text, " now");
    if (before->kind == WH_FINDING_FLAT || before->kind == WH_FINDING_FAR_TOO_LOW)
        wh_phrase_add(text, "; no reading shows whether the tire was taken off and inspected");
    return true;
}

/* "0A1B2C40 heard at 2LO, as on record" */
static void add_sensor(const wh_judge_input *after, const wh_seat *seat, wh_phrase *text)
{
    char place[WH_POSITION_SIZE];
    const wh_unit *unit = wh_roster_find(after->roster, after->unit);
    const wh_wheel *wheel = unit ? wh_unit_wheel_const(unit, seat->position) : NULL;
    wh_phrase_add(text, "%s heard at %s", seat->sensor, wh_position_text(place, seat->position));
    if (wheel && strcmp(wheel->sensor, seat->sensor) == 0)
        wh_phrase_add(text, ", as on record");
}

/* A leak is mended when the trend since then is known and within what every tire loses. */
static wh_status trend_proved(const wh_judge_input *after, const wh_seat *seat, bool *proved, wh_phrase *text)
{
    wh_trend *trend = malloc(sizeof *trend);
    if (!trend)
        return WH_ERR_MEMORY;
    char said[WH_TREND_TEXT_SIZE];
    const wh_trend_window window = wh_judging_trend_window(after);
    const wh_status status = wh_trend_of(after->past, window.past_count, seat->sensor, window.since_us,
                                         after->thresholds->reference_c, after->site, trend);
    if (status == WH_OK) {
        *proved = trend->state == WH_TREND_KNOWN && trend->loss <= after->thresholds->loss_kpa_per_day;
        wh_phrase_add(text, "since the repair %s", wh_trend_text(said, trend, (wh_gauge){0}, after->pressure_unit));
    }
    free(trend);
    return status;
}

static bool battery_proved(const wh_finding *before, const wh_seat *seat, wh_phrase *text)
{
    const bool replaced = strcmp(before->sensor, seat->sensor) != 0;
    if (replaced && seat->latest.battery_low != 1) {
        wh_phrase_add(text, "another sensor: %s", seat->sensor);
        return true;
    }
    wh_phrase_add(text, seat->latest.battery_low == 0 ? "reports its battery as good"
                                                      : "the same sensor, which does not speak of its battery now");
    return seat->latest.battery_low == 0;
}

static bool hot_proved(const wh_judge_input *after, const wh_seat *seat, wh_phrase *text)
{
    char figure[WH_FIGURE_SIZE];
    if (seat->latest.temperature_state != WH_VALUE_OK) {
        wh_phrase_add(text, "heard since, but without a temperature");
        return false;
    }
    wh_phrase_add(text, "%s now", wh_temperature_figure(figure, seat->latest.temperature_c, after->temperature_unit));
    return true;
}

static bool fault_proved(const wh_judge_input *after, const wh_seat *seat, wh_phrase *text)
{
    if (seat->latest.pressure_state != WH_VALUE_OK) {
        wh_phrase_add(text, "heard since, but without a pressure");
        return false;
    }
    wh_phrase_add(text, "%s reports no fault, ", seat->sensor);
    add_pressure(after, seat, text);
    return true;
}

static bool one_transmitter_proved(const wh_finding *before, const wh_seat *seat, wh_phrase *text)
{
    const bool replaced = strcmp(before->sensor, seat->sensor) != 0;
    wh_phrase_add(text, "%s heard %u time%s since without contradiction", seat->sensor, seat->readings,
                  seat->readings == 1 ? "" : "s");
    if (!replaced && seat->readings < READINGS_OF_ONE)
        wh_phrase_add(text, "; it takes %d", READINGS_OF_ONE);
    return replaced || seat->readings >= READINGS_OF_ONE;
}

wh_status wh_verify_proof(const wh_finding *before, const wh_judge_input *after, bool *proved, wh_phrase *text)
{
    const wh_seat *seat = wh_seat_heard_since(after, before->position);
    const wh_seat *other = wh_finding_has_two_wheels(before) ? wh_seat_heard_since(after, before->other) : NULL;
    *proved = false;
    switch (before->kind) {
    case WH_FINDING_FLAT:
    case WH_FINDING_FAR_TOO_LOW:
    case WH_FINDING_LOW:
    case WH_FINDING_HIGH:
    case WH_FINDING_DUALS_APART:
    case WH_FINDING_SIDES_APART: *proved = pressure_proved(before, after, seat, other, text); break;
    case WH_FINDING_LOSING_AIR: return trend_proved(after, seat, proved, text);
    case WH_FINDING_HOT: *proved = hot_proved(after, seat, text); break;
    case WH_FINDING_BATTERY_LOW: *proved = battery_proved(before, seat, text); break;
    case WH_FINDING_SENSOR_FAULT: *proved = fault_proved(after, seat, text); break;
    case WH_FINDING_SAME_ID: *proved = one_transmitter_proved(before, seat, text); break;
    default: /* presence and identity: heard, and no such finding any more */
        add_sensor(after, seat, text);
        if (other) {
            wh_phrase_add(text, "; ");
            add_sensor(after, other, text);
        }
        *proved = true;
        break;
    }
    return WH_OK;
}
