/* What nobody means and the air can do all the same: the attribution answers, in bounds, and the same each time. */
#include "attribution.h"

#include "rng.h"
#include "sweep_maker.h"

#include <stdlib.h>
#include <string.h>

#include "../near.h"

static wh_roster *roster_with(unsigned axles)
{
    wh_roster *roster = wh_roster_create();
    wh_unit unit;
    bool dual[WH_AXLES_MAX];
    for (unsigned i = 0; i < WH_AXLES_MAX; i++)
        dual[i] = true;
    assert_non_null(roster);
    assert_int_equal(wh_unit_make(&unit, "T1", WH_TRAILER, axles, dual, NULL), WH_OK);
    for (unsigned w = 0; w < unit.wheel_count; w++)
        snprintf(unit.wheels[w].sensor, sizeof unit.wheels[w].sensor, "A%u", w);
    assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
    return roster;
}

static wh_attribution *attribute(const wh_roster *roster, const wh_event *events, size_t count)
{
    const wh_sweep sweep = {.events = (wh_event *)events, .event_count = count};
    wh_attribution *attribution = NULL;
    assert_int_equal(wh_attribute(roster, &sweep, "T1", 0, &attribution, NULL), WH_OK);
    return attribution;
}

/* Every number in bounds, every sensor in one place only, everything heard listed once. */
static void check(const wh_attribution *a, size_t sensors_heard)
{
    size_t answered = 0;
    for (unsigned p = 0; p < a->seat_count; p++) {
        const wh_seat *seat = &a->seats[p];
        assert_true(seat->odds >= 0.0 && seat->odds <= 1.0 + 1e-9);
        assert_true(seat->runner_up_odds >= 0.0 && seat->runner_up_odds <= 1.0 + 1e-9);
        assert_true(seat->empty_odds >= 0.0 && seat->empty_odds <= 1.0 + 1e-9);
        assert_true(seat->stood_s >= 0.0 && seat->listened_s >= 0.0);
        assert_true(seat->odds + seat->runner_up_odds + seat->empty_odds <= 1.0 + 1e-6 || seat->state == WH_SEAT_BOUND);
        assert_true(seat->state == WH_SEAT_NOT_VISITED ||
                    (seat->sensor[0] == '\0') == (seat->state == WH_SEAT_NOTHING));
        answered += seat->answered;
        for (unsigned q = 0; q < p && seat->sensor[0]; q++)
            if (seat->state == WH_SEAT_SURE || seat->state == WH_SEAT_BOUND)
                assert_string_not_equal(seat->sensor, a->seats[q].sensor);
    }
    for (size_t i = 0; i < a->stranger_count; i++) {
        assert_true(a->strangers[i].odds >= 0.0 && a->strangers[i].odds <= 1.0 + 1e-9);
        assert_true(a->strangers[i].readings > 0);
        if (i > 0)
            assert_true(a->strangers[i].best_dbfs <= a->strangers[i - 1].best_dbfs);
    }
    /* A seat that is not sure may name a sensor that is listed as a stranger too. */
    assert_true(a->stranger_count <= sensors_heard && a->stranger_count + answered >= sensors_heard);
}

static void test_thousands_of_strangers(void **state)
{
    (void)state;
    enum { STRANGERS = 3000 };
    wh_roster *roster = roster_with(2);
    wh_event *events = calloc(STRANGERS + 2, sizeof *events);
    assert_non_null(events);
    events[0] = (wh_event){.id = 1, .kind = WH_EVENT_STAND, .unit = "T1", .position = {1, WH_LEFT, WH_OUTER}};
    for (size_t i = 1; i <= STRANGERS; i++) {
        events[i] = (wh_event){.id = (int64_t)i + 1, .at_us = 1000000, .kind = WH_EVENT_HEARD};
        snprintf(events[i].heard.sensor, sizeof events[i].heard.sensor, "%zX", i);
        events[i].heard.level_dbfs = -10.0; /* all alike, all at once */
        events[i].heard.confidence = 1.0;
    }
    events[STRANGERS + 1] = (wh_event){.id = STRANGERS + 2, .at_us = 2000000, .kind = WH_EVENT_LEAVE, .unit = "T1"};
    wh_attribution *a = attribute(roster, events, STRANGERS + 2);
    check(a, STRANGERS);
    for (unsigned p = 0; p < a->seat_count; p++) /* one in three thousand is no answer */
        assert_true(a->seats[p].odds < 0.05 && a->seats[p].runner_up_odds < 0.05);
    wh_attribution_free(&a);
    free(events);
    wh_roster_destroy(&roster);
}

/* A hundred and twenty sensors of two other units all answer at one wheel: any of them may be the one, none is likely. */
static void test_many_equal_candidates(void **state)
{
    (void)state;
    enum { OTHERS = 120 };
    wh_roster *roster = roster_with(1);
    bool dual[WH_AXLES_MAX];
    for (unsigned i = 0; i < WH_AXLES_MAX; i++)
        dual[i] = true;
    static wh_event events[OTHERS + 3];
    events[0] = (wh_event){.at_us = 0, .kind = WH_EVENT_STAND, .unit = "T1", .position = {1, WH_LEFT, WH_OUTER}};
    events[1] = (wh_event){.at_us = 5000000, .kind = WH_EVENT_WOKEN, .unit = "T1", .position = {1, WH_LEFT, WH_OUTER}};
    for (unsigned u = 0; u < 2; u++) {
        wh_unit unit;
        assert_int_equal(wh_unit_make(&unit, u ? "T3" : "T2", WH_TRAILER, WH_AXLES_MAX, dual, NULL), WH_OK);
        for (unsigned w = 0; w < 60; w++) {
            snprintf(unit.wheels[w].sensor, sizeof unit.wheels[w].sensor, "B%u", 60 * u + w);
            wh_event *event = &events[2 + 60 * u + w];
            *event =
                (wh_event){.at_us = 6000000, .kind = WH_EVENT_HEARD, .heard = {.level_dbfs = -10.0, .confidence = 1.0}};
            snprintf(event->heard.sensor, sizeof event->heard.sensor, "B%u", 60 * u + w);
        }
        assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
    }
    events[OTHERS + 2] = (wh_event){.at_us = 20000000, .kind = WH_EVENT_END};
    wh_attribution *a = attribute(roster, events, OTHERS + 3);
    check(a, OTHERS);
    for (unsigned p = 0; p < a->seat_count; p++)
        assert_true(a->seats[p].odds < 1.5 / OTHERS && a->seats[p].runner_up_odds < 1.5 / OTHERS);
    wh_attribution_free(&a);
    wh_roster_destroy(&roster);
}

/* Random events of all kinds about few wheels and sensors, with times and levels from all over the scale. */
static wh_event random_event(wh_rng *rng, int64_t id)
{
    static const char *const units[] = {"T1", "T1", "T1", "T2", ""};
    static const int64_t times[] = {INT64_MIN, -1, 0, INT64_MAX};
    wh_event event = {.id = id, .kind = (wh_event_kind)wh_rng_below(rng, WH_EVENT_KIND_COUNT)};
    event.at_us = wh_rng_below(rng, 50) ? (int64_t)wh_rng_below(rng, 600) * 500000 : times[wh_rng_below(rng, 4)];
    snprintf(event.unit, sizeof event.unit, "%s", units[wh_rng_below(rng, 5)]);
    event.position =
        (wh_position){(uint8_t)wh_rng_below(rng, 4), (uint8_t)wh_rng_below(rng, 2), (uint8_t)wh_rng_below(rng, 3)};
    if (wh_rng_below(rng, 20))
        snprintf(event.heard.sensor, sizeof event.heard.sensor, "A%u", (unsigned)wh_rng_below(rng, 20));
    event.heard.level_dbfs = wh_rng_below(rng, 30)  ? -60.0 * wh_rng_uniform(rng)
                             : wh_rng_below(rng, 2) ? (double)NAN
                                                    : 1e300;
    event.heard.confidence = wh_rng_below(rng, 30) ? wh_rng_uniform(rng) : (double)NAN;
    return event;
}

static size_t count_sensors(const wh_event *events, size_t count)
{
    size_t sensors = 0;
    for (size_t i = 0; i < count; i++) {
        bool known = events[i].kind != WH_EVENT_HEARD || events[i].heard.sensor[0] == '\0';
        for (size_t j = 0; j < i && !known; j++)
            known = events[j].kind == WH_EVENT_HEARD && strcmp(events[i].heard.sensor, events[j].heard.sensor) == 0;
        sensors += !known;
    }
    return sensors;
}

static void test_random_events(void **state)
{
    (void)state;
    wh_roster *roster = roster_with(3);
    static wh_event events[400];
    wh_rng rng;
    wh_rng_seed(&rng, 99);
    for (int round = 0; round < 60; round++) {
        const size_t count = (size_t)wh_rng_below(&rng, 400);
        for (size_t i = 0; i < count; i++)
            events[i] = random_event(&rng, (int64_t)i + 1);
        wh_attribution *a = attribute(roster, events, count), *again = attribute(roster, events, count);
        check(a, count_sensors(events, count));
        for (unsigned p = 0; p < a->seat_count; p++) {
            assert_string_equal(a->seats[p].sensor, again->seats[p].sensor);
            assert_true(a->seats[p].odds == again->seats[p].odds);
        }
        wh_attribution_free(&a);
        wh_attribution_free(&again);
    }
    wh_roster_destroy(&roster);
}

/* The largest unit there is, every sensor heard alike at every wheel: nothing is known but the record. */
static void test_sixty_wheels_heard_alike(void **state)
{
    (void)state;
    wh_roster *roster = roster_with(WH_AXLES_MAX);
    const wh_unit *unit = wh_roster_at(roster, 0);
    wh_event *events = calloc(60 * 61, sizeof *events);
    size_t count = 0;
    for (unsigned w = 0; w < 60; w++) {
        events[count++] = (wh_event){
            .at_us = w * 10000000, .kind = WH_EVENT_STAND, .unit = "T1", .position = unit->wheels[w].position};
        for (unsigned s = 0; s < 60; s++) {
            wh_event *event = &events[count++];
            *event = (wh_event){.at_us = w * 10000000 + 5000000, .kind = WH_EVENT_HEARD};
            snprintf(event->heard.sensor, sizeof event->heard.sensor, "A%u", s);
            event->heard.level_dbfs = -20.0;
            event->heard.confidence = 1.0;
        }
    }
    wh_attribution *a = attribute(roster, events, count);
    check(a, 60);
    wh_attribution_free(&a);
    free(events);
    wh_roster_destroy(&roster);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_thousands_of_strangers),
        cmocka_unit_test(test_many_equal_candidates),
        cmocka_unit_test(test_random_events),
        cmocka_unit_test(test_sixty_wheels_heard_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
