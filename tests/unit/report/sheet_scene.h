/* An invented trailer in the middle of a sweep: what sheet and diagram tests show. */
#ifndef SHEET_SCENE_H
#define SHEET_SCENE_H

#include "sheet.h"

#include <stdio.h>
#include <string.h>

typedef struct sheet_scene {
    wh_unit unit;
    wh_event events[5];
    wh_sweep sweep;
    wh_attribution attribution;
    wh_finding items[2];
    wh_findings findings;
    wh_changes changes;
    wh_verify_row rows[2];
    wh_verification verification; /* not part of the sheet until a test says so */
    wh_sheet sheet;
} sheet_scene;

static inline void scene_hear(wh_seat *seat, const char *sensor, double kpa, double celsius)
{
    seat->state = WH_SEAT_SURE;
    seat->odds = 0.987;
    seat->answered = true;
    snprintf(seat->sensor, sizeof seat->sensor, "%s", sensor);
    seat->latest = (wh_heard){
        .pressure_state = WH_VALUE_OK, .pressure = {kpa}, .temperature_state = WH_VALUE_OK, .temperature_c = celsius};
    snprintf(seat->latest.sensor, sizeof seat->latest.sensor, "%s", sensor);
}

/* Axle 1 single, axle 2 dual. Heard: 1L in order, 2LO far too low; 2LI visited in vain, the right side not visited. */
static inline void sheet_scene_make(sheet_scene *scene)
{
    const bool dual[] = {false, true};
    memset(scene, 0, sizeof *scene);
    wh_unit_make(&scene->unit, "K-17", WH_TRAILER, 2, dual, NULL);
    scene->unit.first_axle = 4;
    for (unsigned i = 0; i < scene->unit.wheel_count; i++) {
        scene->attribution.seats[i].position = scene->unit.wheels[i].position;
        scene->unit.wheels[i].target.kpa = 724.0;
    }
    scene->attribution.seat_count = scene->unit.wheel_count;
    scene_hear(&scene->attribution.seats[0], "0A1B2C3D", 731.2, 21.4);
    scene_hear(&scene->attribution.seats[1], "0A1B2C3E", 560.0, 18.0);
    scene->attribution.seats[2].state = WH_SEAT_NOTHING;
    scene->items[0] = (wh_finding){.kind = WH_FINDING_FAR_TOO_LOW,
                                   .severity = WH_SEVERITY_FAULT,
                                   .unit = "K-17",
                                   .position = scene->unit.wheels[1].position,
                                   .sensor = "0A1B2C3E",
                                   .odds = 0.9876,
                                   .has_pressure = true,
                                   .pressure = {560.0},
                                   .cold = {565.4},
                                   .target = {724.0},
                                   .inflation = true,
                                   .evidence = "560 kPa gauge at 18 C, target 724 kPa cold",
                                   .rule = "at or below 80 % of target",
                                   .rule_source = "29 CFR 1910.177",
                                   .remedy = "Do not add air. Deflate, take the wheel off, inspect."};
    scene->findings = (wh_findings){scene->items, 1};
    scene->changes.count = 1;
    scene->changes.items[0] = (wh_change){.position = scene->unit.wheels[1].position,
                                          .kind = WH_IDENTITY_NEW,
                                          .old_sensor = "0A1B2C00",
                                          .new_sensor = "0A1B2C3E",
                                          .old_decimal = "169552896",
                                          .new_decimal = "169552958",
                                          .odds = 0.987,
                                          .has_j1939 = true,
                                          .j1939 = 0x10};
    scene->rows[0] = (wh_verify_row){.verdict = WH_VERDICT_MENDED,
                                     .position = scene->unit.wheels[1].position,
                                     .has_before = true,
                                     .before = scene->items[0],
                                     .heard = true,
                                     .text = "560 kPa gauge before, 726 kPa gauge now"};
    scene->rows[1] = (wh_verify_row){.verdict = WH_VERDICT_NOT_HEARD,
                                     .position = scene->unit.wheels[2].position,
                                     .text = "not heard since the repair mark"};
    scene->verification = (wh_verification){.rows = scene->rows,
                                            .count = 2,
                                            .by_verdict = {[WH_VERDICT_MENDED] = 1, [WH_VERDICT_NOT_HEARD] = 1},
                                            .wheels = 6,
                                            .wheels_heard = 2};
    /* 2026-03-02 07:15:04 UTC is 1772435704 s since 1970 (GNU date). */
    const int64_t begun = 1772435704LL * 1000000;
    scene->events[0] = (wh_event){.id = 1, .at_us = begun, .kind = WH_EVENT_LISTEN};
    scene->events[1] = (wh_event){.id = 2, .at_us = begun + 60000000, .kind = WH_EVENT_GAP};
    scene->events[2] = (wh_event){.id = 3, .at_us = begun + 75000000, .kind = WH_EVENT_LISTEN};
    scene->events[3] = (wh_event){.id = 4, .at_us = begun + 175000000, .kind = WH_EVENT_END};
    scene->sweep = (wh_sweep){.dated = true,
                              .begun_us = begun,
                              .who = "R. Ekholm",
                              .source = "dongle 00000001",
                              .events = scene->events,
                              .event_count = 4};
    scene->sheet = (wh_sheet){.unit = &scene->unit,
                              .sweep = &scene->sweep,
                              .attribution = &scene->attribution,
                              .findings = &scene->findings,
                              .changes = &scene->changes,
                              .site = {101.325},
                              .reference_c = 20.0,
                              .pressure_unit = WH_KPA,
                              .utc_offset_min = 60,
                              .program = "wheelhark test"};
}

#endif
