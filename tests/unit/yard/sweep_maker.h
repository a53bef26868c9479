/* Sweeps written down event by event, for tests. */
#ifndef WH_TEST_SWEEP_MAKER_H
#define WH_TEST_SWEEP_MAKER_H

#include "wheelhark/sweep.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#define MAKER_MOST 4096

typedef struct sweep_maker {
    wh_event events[MAKER_MOST];
    size_t count;
    double now_s;
    char unit[WH_UNIT_NAME_SIZE]; /* of the events to come */
} sweep_maker;

static inline wh_event *maker_add(sweep_maker *maker, wh_event_kind kind, const char *position)
{
    assert_true(maker->count < MAKER_MOST);
    wh_event *event = &maker->events[maker->count++];
    *event = (wh_event){.id = (int64_t)maker->count, .at_us = (int64_t)(maker->now_s * 1e6), .kind = kind};
    if (position) {
        assert_true(wh_position_parse(position, &event->position));
        snprintf(event->unit, sizeof event->unit, "%s", maker->unit);
    }
    return event;
}

static inline wh_event *maker_hear(sweep_maker *maker, const char *sensor, double level_dbfs)
{
    wh_event *event = maker_add(maker, WH_EVENT_HEARD, NULL);
    snprintf(event->heard.sensor, sizeof event->heard.sensor, "%s", sensor);
    event->heard.level_dbfs = level_dbfs;
    event->heard.snr_db = 20.0;
    event->heard.confidence = 0.999;
    event->heard.copies = 1;
    return event;
}

static inline void maker_bind(sweep_maker *maker, const char *position, const char *sensor)
{
    wh_event *event = maker_add(maker, WH_EVENT_BIND, position);
    snprintf(event->heard.sensor, sizeof event->heard.sensor, "%s", sensor);
}

static inline wh_sweep maker_sweep(sweep_maker *maker)
{
    return (wh_sweep){.events = maker->events, .event_count = maker->count};
}

#endif
