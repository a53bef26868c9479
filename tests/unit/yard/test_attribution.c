#include "attribution.h"

#include "sweep_maker.h"

#include <stdlib.h>
#include <string.h>

#include "../near.h"

typedef struct yard {
    wh_roster *roster;
    sweep_maker maker;
} yard;

static const char *const wheels[] = {"1LO", "1LI", "2LO", "2LI", "2RO", "2RI", "1RO", "1RI"};

/* T1: two dual axles with sensors A0..A7 in the order of the walk; T2 likewise with B0..B7. S: one axle of singles, S0 and S1. */
static int set_up(void **state)
{
    yard *y = calloc(1, sizeof *y);
    if (!y || !(y->roster = wh_roster_create()))
        return -1;
    const bool dual[] = {true, true};
    wh_unit unit;
    for (int u = 0; u < 2; u++) {
        if (wh_unit_make(&unit, u ? "T2" : "T1", WH_TRAILER, 2, dual, NULL) != WH_OK)
            return -1;
        for (unsigned w = 0; w < 8; w++)
            snprintf(unit.wheels[w].sensor, sizeof unit.wheels[w].sensor, "%c%u", u ? 'B' : 'A', w);
        if (wh_roster_put(y->roster, &unit, NULL) != WH_OK)
            return -1;
    }
    const bool single[] = {false};
    if (wh_unit_make(&unit, "S", WH_TRAILER, 1, single, NULL) != WH_OK)
        return -1;
    snprintf(unit.wheels[0].sensor, sizeof unit.wheels[0].sensor, "S0");
    snprintf(unit.wheels[1].sensor, sizeof unit.wheels[1].sensor, "S1");
    if (wh_roster_put(y->roster, &unit, NULL) != WH_OK)
        return -1;
    snprintf(y->maker.unit, sizeof y->maker.unit, "T1");
    maker_add(&y->maker, WH_EVENT_LISTEN, NULL);
    *state = y;
    return 0;
}

static int tear_down(void **state)
{
    yard *y = *state;
    wh_roster_destroy(&y->roster);
    free(y);
    return 0;
}

/* Stand at a wheel for ten seconds; `sensor` (may be NULL) is woken after three and answers at once. */
static void wake(yard *y, const char *position, const char *sensor)
{
    sweep_maker *m = &y->maker;
    m->now_s += 5.0;
    maker_add(m, WH_EVENT_STAND, position);
    m->now_s += 3.0;
    maker_add(m, WH_EVENT_WOKEN, position);
    m->now_s += 1.0;
    if (sensor)
        maker_hear(m, sensor, -10.0);
    m->now_s += 6.0;
    maker_add(m, WH_EVENT_LEAVE, position);
}

static void wake_all(yard *y, const char *const *sensors)
{
    for (int i = 0; i < 8; i++)
        wake(y, wheels[i], sensors[i]);
}

static wh_attribution *attribute_unit(yard *y, const char *unit, int64_t after_id)
{
    const wh_sweep sweep = maker_sweep(&y->maker);
    wh_attribution *attribution = NULL;
    wh_error error;
    assert_int_equal(wh_attribute(y->roster, &sweep, unit, after_id, &attribution, &error), WH_OK);
    assert_non_null(attribution);
    return attribution;
}

static wh_attribution *attribute(yard *y)
{
    return attribute_unit(y, "T1", 0);
}

static const wh_seat *seat_at(const wh_attribution *attribution, const char *text)
{
    wh_position position;
    assert_true(wh_position_parse(text, &position));
    for (unsigned i = 0; i < attribution->seat_count; i++)
        if (wh_position_equal(attribution->seats[i].position, position))
            return &attribution->seats[i];
    fail_msg("no seat %s", text);
    return NULL;
}

static const wh_stranger *stranger_named(const wh_attribution *attribution, const char *sensor)
{
    for (size_t i = 0; i < attribution->stranger_count; i++)
        if (strcmp(attribution->strangers[i].sensor, sensor) == 0)
            return &attribution->strangers[i];
    return NULL;
}

static void assert_seat(const wh_attribution *attribution, const char *position, wh_seat_state state,
                        const char *sensor)
{
    const wh_seat *seat = seat_at(attribution, position);
    if (seat->state != state || strcmp(seat->sensor, sensor) != 0)
        print_error("%s: state %d, '%s' %.3f, runner-up '%s' %.3f, empty %.3f\n", position, seat->state, seat->sensor,
                    seat->odds, seat->runner_up, seat->runner_up_odds, seat->empty_odds);
    assert_int_equal(seat->state, state);
    assert_string_equal(seat->sensor, sensor);
}

static const char *const as_recorded[] = {"A0", "A1", "A2", "A3", "A4", "A5", "A6", "A7"};

static void test_all_as_recorded(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    wh_attribution *a = attribute(y);
    assert_string_equal(a->unit, "T1");
    assert_int_equal(a->seat_count, 8);
    for (int i = 0; i < 8; i++) {
        assert_seat(a, wheels[i], WH_SEAT_SURE, as_recorded[i]);
        const wh_seat *seat = seat_at(a, wheels[i]);
        assert_true(seat->answered && seat->woken);
        assert_int_equal(seat->readings, 1);
        assert_near(seat->stood_s, 10.0, 1e-6);
        assert_near(seat->listened_s, 8 * 10.0 + 7 * 5.0, 1e-6); /* and the ways from wheel to wheel */
        assert_near(seat->odds + seat->runner_up_odds + seat->empty_odds, 1.0, 0.02);
    }
    assert_int_equal(a->stranger_count, 0);
    wh_attribution_free(&a);
    assert_null(a);
}

static void test_new_sensor_is_found(void **state)
{
    yard *y = *state;
    const char *sensors[8];
    memcpy(sensors, as_recorded, sizeof sensors);
    sensors[4] = "NEW1";
    wake_all(y, sensors);
    wh_attribution *a = attribute(y);
    assert_seat(a, "2RO", WH_SEAT_SURE, "NEW1");
    assert_seat(a, "2RI", WH_SEAT_SURE, "A5");
    wh_attribution_free(&a);
}

/* Sensors of wheels on opposite sides answered at each other's wheel. */
static void test_crossing_is_found(void **state)
{
    yard *y = *state;
    const char *sensors[8];
    memcpy(sensors, as_recorded, sizeof sensors);
    sensors[2] = "A6";
    sensors[6] = "A2";
    wake_all(y, sensors);
    wh_attribution *a = attribute(y);
    assert_seat(a, "2LO", WH_SEAT_SURE, "A6");
    assert_seat(a, "1RO", WH_SEAT_SURE, "A2");
    assert_seat(a, "2RO", WH_SEAT_SURE, "A4");
    wh_attribution_free(&a);
}

/* Without waking, nothing but levels: a crossing from side to side is found from the profile over the places, although one of
 * the sensors is 15 dB weaker at all of them. */
static void test_crossing_is_found_from_levels_alone(void **state)
{
    yard *y = *state;
    sweep_maker *m = &y->maker;
    for (int round = 0; round < 2; round++) {
        for (int i = 0; i < 8; i++) {
            m->now_s += 5.0;
            maker_add(m, WH_EVENT_STAND, wheels[i]);
            for (int s = 0; s < 8; s++) {
                const int at = s == 2 ? 6 : s == 6 ? 2 : s; /* A2 and A6 are crossed */
                const bool same_side = (i < 4) == (at < 4), same_axle = (i / 2 % 3 == 0) == (at / 2 % 3 == 0);
                const double way = !same_side ? -18.0 : same_axle ? 0.0 : -6.0;
                m->now_s += 3.0;
                maker_hear(m, as_recorded[s], -12.0 + way - (s == 2 ? 15.0 : 0.0));
            }
            maker_add(m, WH_EVENT_LEAVE, wheels[i]);
        }
    }
    wh_attribution *a = attribute(y);
    assert_string_equal(seat_at(a, "2LO")->sensor, "A6");
    assert_string_equal(seat_at(a, "1RO")->sensor, "A2");
    assert_string_equal(seat_at(a, "2RO")->sensor, "A4");
    assert_true(seat_at(a, "2LO")->mates_by_record);
    wh_attribution_free(&a);
}

/* Two unknown sensors in one dual pair, always heard together and alike: nothing tells which is the outer one, so neither seat
 * may be sure, and the other sensor is the runner-up with about the same odds. */
static void test_new_pair_is_not_guessed(void **state)
{
    yard *y = *state;
    sweep_maker *m = &y->maker;
    for (int i = 0; i < 8; i++) {
        m->now_s += 5.0;
        maker_add(m, WH_EVENT_STAND, wheels[i]);
        m->now_s += 4.0;
        if (i == 2 || i == 3) {
            maker_hear(m, "NEW1", -11.0);
            maker_hear(m, "NEW2", -11.0);
        } else {
            maker_hear(m, as_recorded[i], -10.0);
        }
        m->now_s += 4.0;
        maker_add(m, WH_EVENT_LEAVE, wheels[i]);
    }
    wh_attribution *a = attribute(y);
    for (int i = 2; i <= 3; i++) {
        const wh_seat *seat = seat_at(a, wheels[i]);
        assert_int_equal(seat->state, WH_SEAT_UNSURE);
        assert_true(seat->odds < 0.6);
        assert_near(seat->odds, seat->runner_up_odds, 0.05);
        assert_true(strncmp(seat->sensor, "NEW", 3) == 0 && strncmp(seat->runner_up, "NEW", 3) == 0);
        assert_true(seat->mates_by_record);
    }
    assert_string_not_equal(seat_at(a, "2LO")->sensor, seat_at(a, "2LI")->sensor);
    wh_attribution_free(&a);
    /* The technician knows one of them: then the other is what is left. */
    maker_bind(m, "2LO", "NEW2");
    a = attribute(y);
    assert_seat(a, "2LO", WH_SEAT_BOUND, "NEW2");
    assert_string_equal(seat_at(a, "2LI")->sensor, "NEW1");
    assert_true(seat_at(a, "2LI")->odds > 0.6);
    assert_false(seat_at(a, "2LI")->mates_by_record);
    wh_attribution_free(&a);
}

static void test_neighbours_are_strangers(void **state)
{
    yard *y = *state;
    sweep_maker *m = &y->maker;
    for (int i = 0; i < 8; i++) {
        wake(y, wheels[i], as_recorded[i]);
        maker_hear(m, "B2", i >= 4 ? -24.0 : -38.0); /* on record for the unit on the right */
        maker_hear(m, "PASSING", -45.0);
    }
    wh_attribution *a = attribute(y);
    for (int i = 0; i < 8; i++)
        assert_seat(a, wheels[i], WH_SEAT_SURE, as_recorded[i]);
    assert_int_equal(a->stranger_count, 2);
    assert_string_equal(a->strangers[0].sensor, "B2"); /* strongest first */
    assert_true(a->strangers[0].odds > 0.9);
    assert_near(a->strangers[0].best_dbfs, -24.0, 1e-9);
    assert_int_equal(a->strangers[0].readings, 8);
    assert_string_equal(a->strangers[0].latest.sensor, "B2");
    assert_int_equal(a->strangers[0].latest_us, m->events[m->count - 2].at_us);
    wh_attribution_free(&a);
}

/* The same sensor, on record elsewhere, that answers at our wheel when woken, belongs to our wheel. */
static void test_sensor_of_another_unit(void **state)
{
    yard *y = *state;
    const char *sensors[8];
    memcpy(sensors, as_recorded, sizeof sensors);
    sensors[3] = "B2";
    wake_all(y, sensors);
    wake(y, "2LI", "B2");
    wh_attribution *a = attribute(y);
    assert_string_equal(seat_at(a, "2LI")->sensor, "B2");
    assert_true(seat_at(a, "2LI")->odds > 0.8);
    wh_attribution_free(&a);
}

static void test_silent_wheel(void **state)
{
    yard *y = *state;
    const char *sensors[8];
    memcpy(sensors, as_recorded, sizeof sensors);
    sensors[5] = NULL;
    wake_all(y, sensors);
    wh_attribution *a = attribute(y);
    assert_seat(a, "2RI", WH_SEAT_NOTHING, "");
    assert_true(seat_at(a, "2RI")->empty_odds > 0.9);
    assert_true(seat_at(a, "2RI")->woken);
    assert_false(seat_at(a, "2RI")->answered);
    assert_seat(a, "2RO", WH_SEAT_SURE, "A4");
    wh_attribution_free(&a);
}

static void test_nothing_happened(void **state)
{
    yard *y = *state;
    y->maker.count = 0;
    wh_attribution *a = attribute(y);
    for (int i = 0; i < 8; i++)
        assert_seat(a, wheels[i], WH_SEAT_NOT_VISITED, "");
    assert_int_equal(a->stranger_count, 0);
    wh_attribution_free(&a);
}

/* Heard, but nobody stood anywhere: the record says where they should be, and that is all. */
static void test_no_stands_at_all(void **state)
{
    yard *y = *state;
    y->maker.now_s = 10.0;
    maker_hear(&y->maker, "A0", -10.0);
    maker_hear(&y->maker, "A6", -30.0);
    maker_hear(&y->maker, "XX", -5.0);
    wh_attribution *a = attribute(y);
    assert_seat(a, "1LO", WH_SEAT_NOT_VISITED, "A0");
    assert_seat(a, "1RO", WH_SEAT_NOT_VISITED, "A6");
    assert_seat(a, "2LO", WH_SEAT_NOT_VISITED, "");
    assert_true(seat_at(a, "1LO")->answered);
    const wh_stranger *stranger = stranger_named(a, "XX");
    assert_non_null(stranger);
    assert_int_equal(stranger->nearest.axle, 0);
    wh_attribution_free(&a);
}

static void test_bind_wins_and_undo_takes_it_back(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    maker_bind(&y->maker, "1LO", "A3"); /* against everything heard */
    wh_attribution *a = attribute(y);
    assert_seat(a, "1LO", WH_SEAT_BOUND, "A3");
    assert_true(seat_at(a, "1LO")->odds < 0.9);               /* and that shows */
    assert_string_not_equal(seat_at(a, "2LI")->sensor, "A3"); /* a sensor has one seat */
    wh_attribution_free(&a);
    maker_add(&y->maker, WH_EVENT_UNBIND, "1LO");
    a = attribute(y);
    assert_seat(a, "1LO", WH_SEAT_SURE, "A0");
    assert_seat(a, "2LI", WH_SEAT_SURE, "A3");
    wh_attribution_free(&a);
}

static void test_bind_that_agrees_is_sure(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    maker_bind(&y->maker, "1LO", "A0");
    wh_attribution *a = attribute(y);
    assert_seat(a, "1LO", WH_SEAT_BOUND, "A0");
    assert_true(seat_at(a, "1LO")->odds > 0.999);
    wh_attribution_free(&a);
}

/* What was said last holds: of two sensors bound to one seat the later, of two seats for one sensor the later. */
static void test_binds_that_contradict_each_other(void **state)
{
    yard *y = *state;
    maker_bind(&y->maker, "1LO", "X1");
    maker_bind(&y->maker, "1LO", "X2");
    maker_bind(&y->maker, "2LO", "X3");
    maker_bind(&y->maker, "2RO", "X3");
    maker_bind(&y->maker, "1LI", "X4");
    snprintf(y->maker.unit, sizeof y->maker.unit, "T2");
    maker_bind(&y->maker, "1LI", "X4");
    wh_attribution *a = attribute(y);
    assert_seat(a, "1LO", WH_SEAT_BOUND, "X2"); /* never heard, said all the same */
    assert_false(seat_at(a, "1LO")->answered);
    assert_seat(a, "2LO", WH_SEAT_NOT_VISITED, "");
    assert_seat(a, "2RO", WH_SEAT_BOUND, "X3");
    assert_seat(a, "1LI", WH_SEAT_NOT_VISITED, "");
    wh_attribution_free(&a);
}

static void test_only_events_after_the_mark_count(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    maker_add(&y->maker, WH_EVENT_STAND, "1LO");
    y->maker.now_s += 1.0;
    const int64_t mark = maker_add(&y->maker, WH_EVENT_REPAIRED, "1LO")->id;
    y->maker.now_s += 2.0;
    maker_add(&y->maker, WH_EVENT_WOKEN, "1LO");
    y->maker.now_s += 1.0;
    maker_hear(&y->maker, "A0", -10.0)->id = 0; /* not stored yet */
    wh_attribution *a = attribute_unit(y, "T1", mark);
    assert_seat(a, "1LO", WH_SEAT_SURE, "A0");
    assert_near(seat_at(a, "1LO")->stood_s, 3.0, 1e-6);
    assert_int_equal(seat_at(a, "1LO")->readings, 1);
    for (int i = 1; i < 8; i++)
        assert_seat(a, wheels[i], WH_SEAT_NOT_VISITED, "");
    wh_attribution_free(&a);
}

/* While nothing is listened to nobody can be missed: such time does not count. */
static void test_gaps_do_not_count(void **state)
{
    yard *y = *state;
    sweep_maker *m = &y->maker;
    m->now_s = 10.0;
    maker_add(m, WH_EVENT_STAND, "1LO");
    m->now_s = 14.0;
    maker_add(m, WH_EVENT_GAP, NULL);
    m->now_s = 5000.0;
    maker_add(m, WH_EVENT_LISTEN, NULL);
    m->now_s = 5003.0;
    maker_add(m, WH_EVENT_LISTEN, NULL); /* began again without having said why it stopped: those 3 s do not count */
    m->now_s = 5005.0;
    maker_add(m, WH_EVENT_LEAVE, "1LO");
    wh_attribution *a = attribute(y);
    assert_near(seat_at(a, "1LO")->stood_s, 4.0 + 2.0, 1e-6);
    assert_near(seat_at(a, "1LO")->listened_s, 4.0 + 2.0, 1e-6);
    wh_attribution_free(&a);
}

static void add_unknown(sweep_maker *m, double level_dbfs)
{
    wh_event *event = maker_add(m, WH_EVENT_UNKNOWN, NULL);
    event->heard.level_dbfs = level_dbfs;
}

static void test_unknown_bursts(void **state)
{
    yard *y = *state;
    sweep_maker *m = &y->maker;
    wake(y, "1LO", "A0");
    m->now_s += 5.0;
    maker_add(m, WH_EVENT_STAND, "2LO");
    add_unknown(m, -14.0);
    add_unknown(m, -60.0); /* far away */
    add_unknown(m, -9.0);
    maker_add(m, WH_EVENT_LEAVE, "2LO");
    add_unknown(m, -9.0); /* at no wheel */
    wh_attribution *a = attribute(y);
    assert_int_equal(seat_at(a, "2LO")->unknown_bursts, 2);
    assert_int_equal(seat_at(a, "1LO")->unknown_bursts, 0);
    wh_attribution_free(&a);
}

static void test_set_sure(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    wh_attribution *a = attribute(y);
    wh_attribution_set_sure(a, 1.1);
    for (int i = 0; i < 8; i++)
        assert_seat(a, wheels[i], WH_SEAT_UNSURE, as_recorded[i]);
    wh_attribution_set_sure(a, 0.9);
    for (int i = 0; i < 8; i++)
        assert_seat(a, wheels[i], WH_SEAT_SURE, as_recorded[i]);
    wh_attribution_free(&a);
}

/* A reading that is probably wrong does not make a seat sure. */
static void test_doubtful_readings(void **state)
{
    yard *y = *state;
    const char *sensors[8] = {NULL, "A1", "A2", "A3", "A4", "A5", "A6", "A7"};
    wake_all(y, sensors);
    y->maker.now_s += 5.0;
    maker_add(&y->maker, WH_EVENT_STAND, "1LO");
    y->maker.now_s += 1.0;
    maker_add(&y->maker, WH_EVENT_WOKEN, "1LO");
    y->maker.now_s += 1.0;
    wh_event *reading = maker_hear(&y->maker, "GHOST", -10.0);
    wh_attribution *a = attribute(y);
    const double believed = seat_at(a, "1LO")->odds;
    wh_attribution_free(&a);
    reading->heard.confidence = 0.3;
    a = attribute(y);
    assert_int_not_equal(seat_at(a, "1LO")->state, WH_SEAT_SURE);
    const double doubted = strcmp(seat_at(a, "1LO")->sensor, "GHOST") == 0 ? seat_at(a, "1LO")->odds : 0.0;
    /* Odds against "no such sensor" fall by the confidence at least. */
    assert_true(doubted / (1.0 - doubted) < 0.32 * believed / (1.0 - believed));
    wh_attribution_free(&a);
}

/* The odds that XX is at the wheel that was woken; it was heard once before, so many seconds ago. */
static double odds_after_pause(yard *y, double pause_s)
{
    y->maker.count = 1;
    y->maker.now_s = 300.0 - pause_s;
    maker_hear(&y->maker, "XX", -20.0);
    y->maker.now_s = 300.0;
    wake(y, "2RO", "XX");
    wh_attribution *a = attribute(y);
    assert_string_equal(seat_at(a, "2RO")->sensor, "XX");
    const double odds = seat_at(a, "2RO")->odds;
    wh_attribution_free(&a);
    return odds;
}

/* Who sent half a minute ago sends again anyway; who was silent for long was woken. */
static void test_answer_of_one_that_sends_anyway(void **state)
{
    yard *y = *state;
    const double silent = odds_after_pause(y, 200.0), sending = odds_after_pause(y, 30.0);
    assert_true(sending / (1.0 - sending) < 0.5 * silent / (1.0 - silent));
}

static void test_unknown_unit(void **state)
{
    yard *y = *state;
    const wh_sweep sweep = maker_sweep(&y->maker);
    wh_attribution *a = (wh_attribution *)y;
    wh_error error;
    assert_int_equal(wh_attribute(y->roster, &sweep, "nobody", 0, &a, &error), WH_ERR_NOT_FOUND);
    assert_null(a);
    assert_non_null(strstr(error.what, "nobody"));
    wh_attribution_free(&a);
}

/* Singles have no mate; another unit's wheels are no wheels of this one. */
static void test_small_unit(void **state)
{
    yard *y = *state;
    wake_all(y, as_recorded);
    snprintf(y->maker.unit, sizeof y->maker.unit, "S");
    wake(y, "1L", "S0");
    wake(y, "1R", "S1");
    wake(y, "7R", "S1"); /* a wheel it does not have */
    wh_attribution *a = attribute_unit(y, "S", 0);
    assert_int_equal(a->seat_count, 2);
    assert_seat(a, "1L", WH_SEAT_SURE, "S0");
    assert_seat(a, "1R", WH_SEAT_SURE, "S1");
    assert_false(seat_at(a, "1L")->mates_by_record);
    assert_int_equal(a->stranger_count, 8);
    for (size_t i = 0; i < a->stranger_count; i++)
        assert_true(a->strangers[i].odds > 0.9);
    wh_attribution_free(&a);
}

#define WITH_YARD(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_YARD(test_all_as_recorded),
        WITH_YARD(test_new_sensor_is_found),
        WITH_YARD(test_crossing_is_found),
        WITH_YARD(test_crossing_is_found_from_levels_alone),
        WITH_YARD(test_new_pair_is_not_guessed),
        WITH_YARD(test_neighbours_are_strangers),
        WITH_YARD(test_sensor_of_another_unit),
        WITH_YARD(test_silent_wheel),
        WITH_YARD(test_nothing_happened),
        WITH_YARD(test_no_stands_at_all),
        WITH_YARD(test_bind_wins_and_undo_takes_it_back),
        WITH_YARD(test_bind_that_agrees_is_sure),
        WITH_YARD(test_binds_that_contradict_each_other),
        WITH_YARD(test_only_events_after_the_mark_count),
        WITH_YARD(test_gaps_do_not_count),
        WITH_YARD(test_unknown_bursts),
        WITH_YARD(test_set_sure),
        WITH_YARD(test_doubtful_readings),
        WITH_YARD(test_answer_of_one_that_sends_anyway),
        WITH_YARD(test_unknown_unit),
        WITH_YARD(test_small_unit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
