/* The walk as a machine: where keys lead, what becomes an event, and that the events alone give the state back. */
#include "sweep_keep.h"
#include "sweep_run.h"

#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

typedef struct yard {
    wh_roster *roster;
    wh_sweep *sweep;
    wh_sweep_run *run;
    wh_error error;
    int64_t now;
    bool full;             /* keeping fails */
    const char *unsettled; /* position that is not settled; NULL: all are */
    size_t kept;
    double burst_s; /* length of the next bursts */
} yard;

static wh_status keep(void *context, const wh_sweep *sweep, wh_event *event, wh_error *error)
{
    yard *y = context;
    (void)sweep;
    if (y->full)
        return wh_fail(error, WH_ERR_IO, "make room", "disk full");
    event->id = (int64_t)++y->kept * 10;
    return WH_OK;
}

static bool settled(void *context, const wh_sweep *sweep, const char *unit, wh_position position)
{
    const yard *y = context;
    char text[WH_POSITION_SIZE];
    (void)sweep;
    (void)unit;
    return !y->unsettled || strcmp(y->unsettled, wh_position_text(text, position)) != 0;
}

static void add_unit(wh_roster *roster, const char *name, unsigned serial)
{
    static const bool dual[] = {false, true};
    wh_unit unit;
    assert_int_equal(wh_unit_make(&unit, name, WH_TRACTOR, 2, dual, NULL), WH_OK);
    for (unsigned i = 0; i < unit.wheel_count; i++)
        snprintf(unit.wheels[i].sensor, sizeof unit.wheels[i].sensor, "%08X", serial + i);
    assert_int_equal(wh_roster_put(roster, &unit, NULL), WH_OK);
}

static wh_sweep_run_hooks hooks_of(yard *y)
{
    return (wh_sweep_run_hooks){.context = y, .keep = keep, .settled = settled};
}

/* Two units of six wheels: 1L 2LO 2LI 2RI 2RO 1R in some such order; the order is the roster's business. */
static void set_up(yard *y)
{
    static const char *const units[] = {"A", "B"};
    *y = (yard){.roster = wh_roster_create(), .sweep = wh_sweep_create(units, 2)};
    add_unit(y->roster, "A", 0xA0);
    add_unit(y->roster, "B", 0xB0);
    const wh_sweep_run_hooks hooks = hooks_of(y);
    assert_int_equal(wh_sweep_run_create(y->roster, y->sweep, &hooks, &y->run, &y->error), WH_OK);
    assert_int_equal(wh_sweep_run_listen(y->run, "dongle", 0, &y->error), WH_OK);
}

static void tear_down(yard *y)
{
    wh_sweep_run_destroy(&y->run);
    wh_sweep_free(&y->sweep);
    wh_roster_destroy(&y->roster);
}

static void press(yard *y, wh_walk_key key)
{
    y->now += 1000000;
    assert_int_equal(wh_sweep_run_key(y->run, key, y->now, &y->error), WH_OK);
}

static const wh_walk *walk(const yard *y)
{
    return wh_sweep_run_walk(y->run);
}

static const wh_event *last(const yard *y)
{
    return &y->sweep->events[y->sweep->event_count - 1];
}

static bool hear(yard *y, const char *sensor, double level_dbfs, int64_t at_us)
{
    wh_reading reading = {.level_dbfs = level_dbfs, .confidence = 0.99, .copies = 1};
    snprintf(reading.sensor, sizeof reading.sensor, "%s", sensor);
    bool kept;
    assert_int_equal(wh_sweep_run_reading(y->run, &reading, at_us, &kept, &y->error), WH_OK);
    return kept;
}

static void test_leads_round_all_wheels(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    assert_int_equal(walk(&y)->stop_count, 12);
    assert_int_equal(walk(&y)->phase, WH_WALK_BEFORE);
    const wh_unit *a = wh_roster_find(y.roster, "A");
    for (size_t i = 0; i < 12; i++) {
        press(&y, WH_WALK_NEXT);
        assert_int_equal(walk(&y)->phase, WH_WALK_AT);
        assert_int_equal(walk(&y)->at, i);
        assert_int_equal(last(&y)->kind, WH_EVENT_STAND);
        assert_string_equal(last(&y)->unit, i < 6 ? "A" : "B");
        assert_true(wh_position_equal(last(&y)->position, a->wheels[i % 6].position));
    }
    press(&y, WH_WALK_NEXT);
    assert_int_equal(walk(&y)->phase, WH_WALK_DONE);
    assert_int_equal(last(&y)->kind, WH_EVENT_LEAVE);
    press(&y, WH_WALK_NEXT);
    assert_int_equal(walk(&y)->phase, WH_WALK_ENDED);
    assert_int_equal(last(&y)->kind, WH_EVENT_END);
    assert_true(wh_sweep_ended(y.sweep));
    const size_t count = y.sweep->event_count;
    press(&y, WH_WALK_NEXT); /* an accidental key changes nothing */
    press(&y, WH_WALK_BACK);
    assert_int_equal(y.sweep->event_count, count);
    tear_down(&y);
}

static void test_back_and_on_again(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    press(&y, WH_WALK_BACK); /* before the first: nothing */
    assert_int_equal(walk(&y)->phase, WH_WALK_BEFORE);
    for (int i = 0; i < 3; i++)
        press(&y, WH_WALK_NEXT);
    press(&y, WH_WALK_BACK);
    assert_int_equal(walk(&y)->at, 1);
    press(&y, WH_WALK_NEXT); /* the wheel that was left by mistake is not passed over */
    assert_int_equal(walk(&y)->at, 2);
    press(&y, WH_WALK_NEXT_UNIT);
    assert_int_equal(walk(&y)->at, 6);
    for (int i = 0; i < 5; i++)
        press(&y, WH_WALK_NEXT);
    assert_int_equal(walk(&y)->at, 11);
    press(&y, WH_WALK_NEXT); /* what was passed over */
    assert_int_equal(walk(&y)->at, 3);
    press(&y, WH_WALK_BACK);
    press(&y, WH_WALK_BACK);
    press(&y, WH_WALK_BACK);
    press(&y, WH_WALK_BACK); /* no further than the first */
    assert_int_equal(walk(&y)->at, 0);
    tear_down(&y);
}

static void test_unsettled_wheels_come_once_more(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    y.unsettled = "2LI";
    for (int i = 0; i < 12; i++)
        press(&y, WH_WALK_NEXT);
    char text[WH_POSITION_SIZE];
    for (int i = 0; i < 2; i++) { /* of either unit */
        press(&y, WH_WALK_NEXT);
        assert_int_equal(walk(&y)->phase, WH_WALK_AT);
        assert_string_equal(wh_position_text(text, last(&y)->position), "2LI");
        assert_string_equal(last(&y)->unit, i ? "B" : "A");
    }
    press(&y, WH_WALK_NEXT); /* and not a third time */
    assert_int_equal(walk(&y)->phase, WH_WALK_DONE);
    press(&y, WH_WALK_BACK);
    assert_int_equal(walk(&y)->phase, WH_WALK_AT);
    assert_string_equal(last(&y)->unit, "B");
    tear_down(&y);
}

static void test_what_is_said_about_a_wheel(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    const size_t before = y.sweep->event_count;
    press(&y, WH_WALK_WOKEN); /* at no wheel: nothing to say */
    press(&y, WH_WALK_UNDO);
    assert_int_equal(y.sweep->event_count, before);
    wh_heard heard = {.sensor = "C0FFEE00", .battery_low = -1};
    assert_int_equal(wh_sweep_run_bind(y.run, &heard, 1, &y.error), WH_ERR_ARGUMENT);
    press(&y, WH_WALK_NEXT);
    press(&y, WH_WALK_WOKEN);
    assert_true(walk(&y)->stops[0].woken);
    assert_false(walk(&y)->stops[1].woken);
    assert_int_equal(wh_sweep_run_bind(y.run, &heard, y.now, &y.error), WH_OK);
    assert_string_equal(last(&y)->heard.sensor, "C0FFEE00");
    assert_true(walk(&y)->stops[0].bound);
    press(&y, WH_WALK_UNDO);
    assert_int_equal(last(&y)->kind, WH_EVENT_UNBIND);
    assert_false(walk(&y)->stops[0].bound);
    const size_t count = y.sweep->event_count;
    press(&y, WH_WALK_UNDO); /* nothing left to take back */
    assert_int_equal(y.sweep->event_count, count);
    tear_down(&y);
}

static void test_repair_begins_the_unit_again(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    for (int i = 0; i < 13; i++)
        press(&y, WH_WALK_NEXT);
    press(&y, WH_WALK_NEXT);
    assert_int_equal(walk(&y)->phase, WH_WALK_ENDED);
    assert_int_equal(wh_sweep_run_repaired(y.run, "C", y.now, &y.error), WH_ERR_NOT_FOUND);
    assert_int_equal(wh_sweep_run_repaired(y.run, "A", y.now, &y.error), WH_OK);
    assert_true(wh_sweep_repaired(y.sweep, "A") == last(&y)->id);
    assert_true(wh_sweep_repaired(y.sweep, "B") == 0);
    assert_int_equal(walk(&y)->phase, WH_WALK_BEFORE);
    for (size_t i = 0; i < 6; i++) {
        press(&y, WH_WALK_NEXT);
        assert_int_equal(walk(&y)->at, i);
    }
    press(&y, WH_WALK_NEXT); /* the other unit was not repaired */
    assert_int_equal(walk(&y)->phase, WH_WALK_DONE);
    tear_down(&y);
}

static void test_gaps(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    press(&y, WH_WALK_NEXT);
    assert_non_null(wh_sweep_standing(y.sweep, y.now + 1));
    assert_int_equal(wh_sweep_run_gap(y.run, "unplugged", y.now + 10, &y.error), WH_OK);
    const size_t count = y.sweep->event_count;
    assert_int_equal(wh_sweep_run_gap(y.run, "asleep", y.now + 20, &y.error), WH_OK);
    assert_int_equal(y.sweep->event_count, count); /* it is one gap */
    assert_null(wh_sweep_standing(y.sweep, y.now + 30));
    assert_int_equal(wh_sweep_run_listen(y.run, "dongle", y.now + 40, &y.error), WH_OK);
    assert_int_equal(last(&y)->kind, WH_EVENT_STAND); /* he still stands there, and it is no second visit */
    assert_int_equal(walk(&y)->stops[0].visits, 1);
    assert_non_null(wh_sweep_standing(y.sweep, y.now + 41));
    assert_null(wh_sweep_standing(y.sweep, y.now + 39));
    assert_int_equal(wh_sweep_run_listen(y.run, "dongle", y.now + 50, &y.error), WH_OK);
    assert_int_equal(y.sweep->event_count, count + 2);
    tear_down(&y);
}

static void test_whose_readings_are_kept(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    assert_true(hear(&y, "000000B5", -60, 1));  /* the fleet's own, from anywhere */
    assert_false(hear(&y, "5715A9E1", -20, 2)); /* a stranger's while he stands at no wheel */
    assert_int_equal(walk(&y)->strangers, 1);
    press(&y, WH_WALK_NEXT);
    assert_true(hear(&y, "000000A0", -20, y.now + 1));
    assert_int_equal(walk(&y)->heard_here, 1);
    assert_true(hear(&y, "5715A9E1", -44.9, y.now + 2));  /* may be in the tire at his feet */
    assert_false(hear(&y, "5715A9E2", -45.1, y.now + 3)); /* too faint for that */
    assert_false(hear(&y, "5715A9E2", -45.1, y.now + 4));
    assert_int_equal(walk(&y)->strangers, 2); /* different ones */
    /* A reading comes out late: what counts is when it was on the air. */
    assert_false(hear(&y, "5715A9E3", -20, 3));
    assert_int_equal(walk(&y)->heard_here, 2);
    const wh_heard heard = {.sensor = "5715A9E2", .battery_low = -1};
    assert_int_equal(wh_sweep_run_bind(y.run, &heard, y.now + 5, &y.error), WH_OK);
    assert_true(hear(&y, "5715A9E2", -70, y.now + 6)); /* the technician said it is ours */
    tear_down(&y);
}

static bool burst(yard *y, wh_reason reason, double level_dbfs)
{
    const wh_burst heard = {
        .reason = reason, .duration_s = y->burst_s, .level_dbfs = level_dbfs, .snr_db = 20, .carrier_hz = 433.9e6};
    bool kept;
    assert_int_equal(wh_sweep_run_burst(y->run, &heard, y->now + 1, &kept, &y->error), WH_OK);
    return kept;
}

static void test_bursts_of_unknown_kinds(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    assert_false(burst(&y, WH_REASON_NO_SYNC, -20)); /* at no wheel */
    press(&y, WH_WALK_NEXT);
    assert_true(burst(&y, WH_REASON_NO_SYNC, -20));
    assert_string_equal(last(&y)->heard.sensor, "");
    assert_false(burst(&y, WH_REASON_BAD_CHECK, -20)); /* a damaged copy of a known kind */
    assert_false(burst(&y, WH_REASON_STEADY_CARRIER, -20));
    y.burst_s = 0.0145; /* shorter than the frames of all kinds that are known, and yet a frame */
    assert_true(burst(&y, WH_REASON_TOO_SHORT, -20));
    y.burst_s = 0.0005; /* a click */
    assert_false(burst(&y, WH_REASON_TOO_SHORT, -20));
    assert_false(burst(&y, WH_REASON_NO_SYNC, -50)); /* too faint to be at his feet */
    for (int i = 0; i < 100; i++)
        burst(&y, WH_REASON_NO_SYNC, -20);
    assert_int_equal(walk(&y)->unknown_here, 20); /* bounded */
    press(&y, WH_WALK_NEXT);
    assert_true(burst(&y, WH_REASON_NO_SYNC, -20));
    tear_down(&y);
}

static void test_what_is_not_kept_did_not_happen(void **state)
{
    (void)state;
    yard y;
    set_up(&y);
    press(&y, WH_WALK_NEXT);
    const size_t count = y.sweep->event_count;
    const wh_walk was = *walk(&y);
    y.full = true;
    assert_int_equal(wh_sweep_run_key(y.run, WH_WALK_NEXT, y.now + 1, &y.error), WH_ERR_IO);
    assert_string_equal(y.error.what, "disk full");
    assert_int_equal(y.sweep->event_count, count);
    assert_int_equal(walk(&y)->at, was.at);
    y.full = false;
    press(&y, WH_WALK_NEXT);
    assert_int_equal(walk(&y)->at, was.at + 1);
    tear_down(&y);
}

static void assert_same_walk(const wh_walk *a, const wh_walk *b)
{
    assert_int_equal(a->phase, b->phase);
    assert_int_equal(a->at, b->at);
    assert_int_equal(a->listening, b->listening);
    assert_int_equal(a->since_us, b->since_us);
    assert_int_equal(a->heard_here, b->heard_here);
    assert_int_equal(a->unknown_here, b->unknown_here);
    for (size_t i = 0; i < a->stop_count; i++) {
        assert_int_equal(a->stops[i].visits, b->stops[i].visits);
        assert_int_equal(a->stops[i].woken, b->stops[i].woken);
        assert_int_equal(a->stops[i].bound, b->stops[i].bound);
    }
}

/* After any keys and readings, in any order: a machine made from the events alone is in the same state. */
static void test_events_are_the_only_truth(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        yard y;
        wh_rng rng;
        set_up(&y);
        wh_rng_seed(&rng, seed);
        for (int step = 0; step < 60; step++) {
            y.now += 10; /* what is heard was on the air before what is pressed next */
            char sensor[16];
            snprintf(sensor, sizeof sensor, "%08X", (unsigned)(0xA0 + wh_rng_below(&rng, 40)));
            y.unsettled = wh_rng_below(&rng, 3) ? NULL : "1R";
            switch (wh_rng_below(&rng, 6)) {
            case 0: hear(&y, sensor, -10.0 - 40.0 * wh_rng_uniform(&rng), y.now - 2000000 + 100 * step); break;
            case 1: wh_sweep_run_gap(y.run, "gap", y.now, &y.error); break;
            case 2: wh_sweep_run_listen(y.run, "dongle", y.now, &y.error); break;
            case 3: press(&y, (wh_walk_key)wh_rng_below(&rng, WH_WALK_KEY_COUNT)); break;
            case 4: burst(&y, WH_REASON_NO_SYNC, -20); break;
            default: press(&y, WH_WALK_NEXT); break;
            }
        }
        /* Whether wheels are left to go to depends on what is settled: seen at the last event. */
        y.unsettled = NULL;
        hear(&y, "000000B5", -60, y.now);
        wh_sweep_run *again;
        const wh_sweep_run_hooks hooks = hooks_of(&y);
        assert_int_equal(wh_sweep_run_create(y.roster, y.sweep, &hooks, &again, &y.error), WH_OK);
        assert_same_walk(walk(&y), wh_sweep_run_walk(again));
        wh_sweep_run_destroy(&again);
        tear_down(&y);
    }
}

static void test_unit_that_is_not_there(void **state)
{
    (void)state;
    static const char *const units[] = {"Z"};
    wh_error error;
    wh_roster *roster = wh_roster_create();
    wh_sweep *sweep = wh_sweep_create(units, 1);
    wh_sweep_run *run;
    assert_int_equal(wh_sweep_run_create(roster, sweep, NULL, &run, &error), WH_ERR_NOT_FOUND);
    assert_null(run);
    assert_non_null(strstr(error.what, "'Z'"));
    wh_sweep_free(&sweep);
    wh_roster_destroy(&roster);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_leads_round_all_wheels),          cmocka_unit_test(test_back_and_on_again),
        cmocka_unit_test(test_unsettled_wheels_come_once_more), cmocka_unit_test(test_what_is_said_about_a_wheel),
        cmocka_unit_test(test_repair_begins_the_unit_again),    cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_whose_readings_are_kept),         cmocka_unit_test(test_bursts_of_unknown_kinds),
        cmocka_unit_test(test_what_is_not_kept_did_not_happen), cmocka_unit_test(test_events_are_the_only_truth),
        cmocka_unit_test(test_unit_that_is_not_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
