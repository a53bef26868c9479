/* An invented unit with everything in order, for tests of findings: each test spoils one thing. Trailer "T-101": axle 1 single,
 * axles 2 and 3 dual, target 690 kPa, sidewall maximum 827 kPa (120 psi), every sensor placed, 690 kPa at 20 C, 20 minutes
 * listened. Unit "T-102" of the same kind stands on the roster too. */
#ifndef WH_TEST_JUDGED_UNIT_H
#define WH_TEST_JUDGED_UNIT_H

#include "judge.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define EVENTS_MAX 400
#define SECOND_US  INT64_C(1000000)
#define DAY_US     INT64_C(86400000000)
#define BEGIN_US   INT64_C(1772436000000000)

typedef struct judged_unit {
    wh_roster *roster;
    wh_unit unit;
    wh_attribution attribution;
    wh_stranger strangers[8];
    wh_event events[EVENTS_MAX];
    wh_sweep sweep;
    wh_thresholds thresholds;
    wh_past past[EVENTS_MAX];
    wh_judge_input input;
    wh_findings *findings;
} judged_unit;

static inline wh_position at(const char *text)
{
    wh_position position;
    assert_true(wh_position_parse(text, &position));
    return position;
}

static inline wh_heard reading_of(const char *sensor, double kpa, double celsius)
{
    wh_heard heard = {.pressure_state = WH_VALUE_OK,
                      .pressure = {kpa},
                      .temperature_state = WH_VALUE_OK,
                      .temperature_c = celsius,
                      .battery_low = 0,
                      .confidence = 1.0,
                      .level_dbfs = -30,
                      .snr_db = 35,
                      .carrier_hz = 433.92e6,
                      .copies = 4};
    snprintf(heard.sensor, sizeof heard.sensor, "%s", sensor);
    return heard;
}

static inline wh_seat *seat_at(judged_unit *u, const char *position)
{
    for (unsigned i = 0; i < u->attribution.seat_count; i++) {
        if (wh_position_equal(u->attribution.seats[i].position, at(position)))
            return &u->attribution.seats[i];
    }
    fail_msg("no seat %s", position);
    return &u->attribution.seats[0]; /* not reached, which the compiler does not know */
}

/* The sensor at a wheel becomes another one, sure. */
static inline wh_seat *put_sensor(judged_unit *u, const char *position, const char *sensor)
{
    wh_seat *seat = seat_at(u, position);
    snprintf(seat->sensor, sizeof seat->sensor, "%s", sensor);
    snprintf(seat->latest.sensor, sizeof seat->latest.sensor, "%s", sensor);
    seat->state = WH_SEAT_SURE;
    seat->odds = 0.97;
    return seat;
}

/* Nothing is heard at a wheel. */
static inline wh_seat *silence(judged_unit *u, const char *position)
{
    wh_seat *seat = seat_at(u, position);
    const wh_seat quiet = {.position = seat->position,
                           .state = WH_SEAT_NOTHING,
                           .empty_odds = 1,
                           .stood_s = seat->stood_s,
                           .listened_s = seat->listened_s};
    *seat = quiet;
    return seat;
}

static inline wh_wheel *wheel_at(judged_unit *u, const char *position)
{
    return wh_unit_wheel(&u->unit, at(position));
}

/* A wheel reads this; the pressure is as the sensor shows it at that temperature. */
static inline wh_heard *reads(judged_unit *u, const char *position, double kpa, double celsius)
{
    wh_seat *seat = seat_at(u, position);
    seat->latest = reading_of(seat->sensor, kpa, celsius);
    return &seat->latest;
}

static inline wh_event *add_event(judged_unit *u, double at_s, wh_event_kind kind, const char *position)
{
    wh_event *event = &u->events[u->sweep.event_count++];
    assert_true(u->sweep.event_count <= EVENTS_MAX);
    memset(event, 0, sizeof *event);
    event->id = (int64_t)u->sweep.event_count;
    event->at_us = BEGIN_US + (int64_t)(at_s * 1e6);
    event->kind = kind;
    if (position) {
        snprintf(event->unit, sizeof event->unit, "%s", u->unit.name);
        event->position = at(position);
    }
    return event;
}

static inline wh_event *add_heard(judged_unit *u, double at_s, const char *sensor, double kpa, double celsius)
{
    wh_event *event = add_event(u, at_s, WH_EVENT_HEARD, NULL);
    event->heard = reading_of(sensor, kpa, celsius);
    return event;
}

static inline void add_past(judged_unit *u, double days, const char *sensor, double kpa, double celsius)
{
    wh_past *past = &u->past[u->input.past_count++];
    assert_true(u->input.past_count <= EVENTS_MAX);
    *past = (wh_past){BEGIN_US + (int64_t)(days * (double)DAY_US), reading_of(sensor, kpa, celsius)};
}

static inline void number_sensors(wh_unit *unit, unsigned first)
{
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        snprintf(unit->wheels[i].sensor, sizeof unit->wheels[i].sensor, "%08X", first + i);
        unit->wheels[i].target.kpa = 690;
        unit->wheels[i].sidewall_max.kpa = 827;
    }
}

static inline void begin(judged_unit *u)
{
    const bool dual[] = {false, true, true};
    memset(u, 0, sizeof *u);
    u->roster = wh_roster_create();
    wh_unit other;
    assert_int_equal(wh_unit_make(&u->unit, "T-101", WH_TRAILER, 3, dual, NULL), WH_OK);
    assert_int_equal(wh_unit_make(&other, "T-102", WH_TRAILER, 3, dual, NULL), WH_OK);
    number_sensors(&u->unit, 0x0A1B2C00); /* 1L 2LO 2LI 3LO 3LI 3RO 3RI 2RO 2RI 1R: ...00 to ...09 */
    number_sensors(&other, 0x0A1B2D00);
    assert_int_equal(wh_roster_put(u->roster, &other, NULL), WH_OK);
    snprintf(u->attribution.unit, sizeof u->attribution.unit, "T-101");
    u->attribution.seat_count = u->unit.wheel_count;
    u->attribution.strangers = u->strangers;
    for (unsigned i = 0; i < u->unit.wheel_count; i++) {
        wh_seat *seat = &u->attribution.seats[i];
        *seat = (wh_seat){.position = u->unit.wheels[i].position,
                          .state = WH_SEAT_SURE,
                          .odds = 0.98,
                          .answered = true,
                          .latest_us = BEGIN_US,
                          .readings = 3,
                          .stood_s = 20,
                          .listened_s = 1200};
        memcpy(seat->sensor, u->unit.wheels[i].sensor, sizeof seat->sensor);
        seat->latest = reading_of(seat->sensor, 690, 20);
    }
    wh_thresholds_defaults(&u->thresholds);
    u->sweep.events = u->events;
    u->input = (wh_judge_input){.roster = u->roster,
                                .unit = "T-101",
                                .sweep = &u->sweep,
                                .attribution = &u->attribution,
                                .past = u->past,
                                .thresholds = &u->thresholds,
                                .site = {WH_STANDARD_ATMOSPHERE_KPA}};
    add_event(u, 0, WH_EVENT_LISTEN, NULL);
}

static inline void judge(judged_unit *u)
{
    wh_error error = {0};
    wh_findings_free(&u->findings);
    assert_int_equal(wh_roster_put(u->roster, &u->unit, &error), WH_OK);
    const wh_status status = wh_judge(&u->input, &u->findings, &error);
    assert_string_equal(error.what, "");
    assert_int_equal(status, WH_OK);
}

static inline void end(judged_unit *u)
{
    wh_findings_free(&u->findings);
    wh_roster_destroy(&u->roster);
}

static inline unsigned count_of(const judged_unit *u, wh_finding_kind kind)
{
    unsigned count = 0;
    for (size_t i = 0; i < u->findings->count; i++)
        count += u->findings->items[i].kind == kind;
    return count;
}

/* The finding of this kind at this wheel; the test fails when there is none. */
static inline const wh_finding *found(const judged_unit *u, wh_finding_kind kind, const char *position)
{
    for (size_t i = 0; i < u->findings->count; i++) {
        const wh_finding *finding = &u->findings->items[i];
        if (finding->kind == kind && wh_position_equal(finding->position, at(position)))
            return finding;
    }
    for (size_t i = 0; i < u->findings->count; i++)
        print_message("found: %s: %s\n", wh_finding_kind_name(u->findings->items[i].kind),
                      u->findings->items[i].evidence);
    fail_msg("no finding %s at %s", wh_finding_kind_name(kind), position);
    return u->findings->items;
}

/* Judge, and there must be no finding at all. */
static inline void assert_nothing_found(judged_unit *u)
{
    judge(u);
    for (size_t i = 0; i < u->findings->count; i++)
        print_message("found: %s: %s\n", wh_finding_kind_name(u->findings->items[i].kind),
                      u->findings->items[i].evidence);
    assert_int_equal(u->findings->count, 0);
}

/* Judge, and there must be this finding and no other. */
static inline const wh_finding *assert_only(judged_unit *u, wh_finding_kind kind, const char *position)
{
    judge(u);
    const wh_finding *finding = found(u, kind, position);
    assert_int_equal(u->findings->count, 1);
    return finding;
}

static inline void assert_says(const char *text, const char *part)
{
    if (!strstr(text, part))
        fail_msg("'%s' does not say '%s'", text, part);
}

#endif
