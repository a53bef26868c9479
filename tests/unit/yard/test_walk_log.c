#include "walk_log.h"

#include "sweep_maker.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "../near.h"

typedef struct walk {
    wh_unit unit;
    sweep_maker maker;
    wh_walk_log log;
} walk;

static int set_up(void **state)
{
    walk *w = calloc(1, sizeof *w);
    const bool dual[] = {true, false};
    if (!w || wh_unit_make(&w->unit, "T1", WH_TRAILER, 2, dual, NULL) != WH_OK)
        return -1;
    snprintf(w->maker.unit, sizeof w->maker.unit, "T1");
    *state = w;
    return 0;
}

static int tear_down(void **state)
{
    walk *w = *state;
    wh_walk_log_free(&w->log);
    free(w);
    return 0;
}

static const wh_walk_log *make_log(walk *w, int64_t after_id)
{
    wh_walk_log_free(&w->log);
    const wh_sweep sweep = maker_sweep(&w->maker);
    assert_int_equal(wh_walk_log_make(&w->log, &w->unit, &sweep, after_id), WH_OK);
    return &w->log;
}

static int seat(const walk *w, const char *text)
{
    wh_position position;
    assert_true(wh_position_parse(text, &position));
    return wh_walk_log_seat_at(&w->unit, position);
}

static const wh_witness *witness(const wh_walk_log *log, const char *sensor)
{
    for (size_t i = 0; i < log->witness_count; i++)
        if (strcmp(log->witnesses[i].sensor, sensor) == 0)
            return &log->witnesses[i];
    fail_msg("nobody heard %s", sensor);
    return NULL;
}

/* Whether a sensor answered in a trial at a seat, and how. */
static const wh_log_answer *answer(const wh_walk_log *log, const char *sensor, int at)
{
    for (size_t a = 0; a < log->answer_count; a++)
        if (log->trials[log->answers[a].trial].seat == at &&
            strcmp(log->witnesses[log->answers[a].witness].sensor, sensor) == 0)
            return &log->answers[a];
    return NULL;
}

static void at(walk *w, double seconds)
{
    w->maker.now_s = seconds;
}

static void test_levels_by_place(void **state)
{
    walk *w = *state;
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    maker_hear(&w->maker, "A", -10.0);
    maker_hear(&w->maker, "A", -14.0);
    maker_add(&w->maker, WH_EVENT_STAND, "1LI"); /* the same spot */
    maker_hear(&w->maker, "A", -9.0);
    maker_add(&w->maker, WH_EVENT_STAND, "2R");
    maker_hear(&w->maker, "A", -30.0);
    maker_add(&w->maker, WH_EVENT_LEAVE, "2R");
    maker_hear(&w->maker, "A", -1.0); /* nowhere: no level for any place */
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(log->place_count, 2);
    assert_int_equal(log->witness_count, 1);
    const wh_witness *a = witness(log, "A");
    assert_int_equal(a->readings, 5);
    assert_near(a->best_dbfs, -1.0, 1e-12);
    assert_int_equal(seat(w, "1LI"), wh_walk_log_seat_at(&w->unit, a->nearest));
    assert_near(a->latest->heard.level_dbfs, -1.0, 1e-12);
    const wh_log_level *across = &log->levels[a->first_level], *here = &log->levels[across->next];
    assert_true(here->next == SIZE_MAX);
    assert_int_equal(across->readings, 1);
    assert_int_equal(here->readings, 3);
    assert_near(here->sum_dbfs, -33.0, 1e-12);
    assert_near(here->most_dbfs, -9.0, 1e-12);
    assert_true(log->places[here->place].own);
}

/* A reading is told some time after it was heard; he may have walked on by then. Where he stood when it was heard counts. */
static void test_late_readings_belong_where_they_were_heard(void **state)
{
    walk *w = *state;
    at(w, 10.0);
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO");
    at(w, 13.0);
    maker_add(&w->maker, WH_EVENT_STAND, "2R");
    maker_add(&w->maker, WH_EVENT_WOKEN, "2R");
    at(w, 11.0);
    maker_hear(&w->maker, "A", -10.0);
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(wh_walk_log_seat_at(&w->unit, witness(log, "A")->nearest), seat(w, "1LO"));
    assert_non_null(answer(log, "A", seat(w, "1LO")));
    assert_null(answer(log, "A", seat(w, "2R")));
}

/* ... and what was heard before a repair mark says nothing of the repair, however late it is told. */
static void test_late_readings_do_not_pass_a_mark(void **state)
{
    walk *w = *state;
    at(w, 10.0);
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    at(w, 12.0);
    const int64_t mark = maker_add(&w->maker, WH_EVENT_REPAIRED, "1LO")->id;
    at(w, 11.0);
    maker_hear(&w->maker, "A", -10.0);
    at(w, 12.5);
    maker_hear(&w->maker, "B", -10.0);
    const wh_walk_log *log = make_log(w, mark);
    assert_int_equal(log->witness_count, 1);
    assert_string_equal(log->witnesses[0].sensor, "B");
}

static void test_sendings_and_confidence(void **state)
{
    walk *w = *state;
    for (int i = 0; i < 4; i++) { /* copies a second apart, then again 20 s later */
        at(w, i < 2 ? i : 20.0 + i);
        maker_hear(&w->maker, "A", -10.0)->heard.confidence = 0.5;
    }
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(witness(log, "A")->readings, 4);
    assert_int_equal(witness(log, "A")->sendings, 2);
    assert_near(witness(log, "A")->exists, 1.0 - 0.0625, 1e-12); /* four halves wrong: 1/16 */
}

/* An answer within 6 s of waking counts; a later one does not; two tries at one wheel are one trial. */
static void test_woken(void **state)
{
    walk *w = *state;
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    at(w, 10.0);
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO");
    at(w, 15.0);
    maker_hear(&w->maker, "SOON", -10.0);
    at(w, 17.0);
    maker_hear(&w->maker, "LATE", -10.0);
    at(w, 20.0);
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO");
    at(w, 22.0);
    maker_hear(&w->maker, "SECOND", -10.0);
    at(w, 60.0);
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LI"); /* of the mate, from the same spot */
    at(w, 61.0);
    maker_hear(&w->maker, "MATE", -10.0);
    const wh_walk_log *log = make_log(w, 0);
    unsigned woken = 0;
    for (size_t t = 0; t < log->trial_count; t++)
        woken += log->trials[t].woken;
    assert_int_equal(woken, 2);
    const int outer = seat(w, "1LO"), inner = seat(w, "1LI");
    assert_true(log->trials[answer(log, "SOON", outer)->trial].woken);
    assert_true(log->trials[answer(log, "SECOND", outer)->trial].woken);
    assert_null(answer(log, "MATE", outer));
    assert_non_null(answer(log, "MATE", inner));
    assert_true(log->seats[outer].woken && log->seats[inner].woken);
    assert_false(log->seats[seat(w, "2L")].woken);
    assert_null(answer(log, "LATE", outer)); /* between the tries */
}

static void test_late_answer_does_not_count(void **state)
{
    walk *w = *state;
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    at(w, 10.0);
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO");
    at(w, 17.0);
    maker_hear(&w->maker, "LATE", -10.0);
    assert_null(answer(make_log(w, 0), "LATE", seat(w, "1LO")));
}

/* Without a word about waking the stand as a whole is the trial, as long as the receiver listens. */
static void test_quiet_stand(void **state)
{
    walk *w = *state;
    at(w, 100.0);
    maker_hear(&w->maker, "STEADY", -30.0);
    at(w, 120.0);
    maker_add(&w->maker, WH_EVENT_STAND, "2L");
    at(w, 130.0);
    maker_hear(&w->maker, "NEW", -10.0);
    maker_hear(&w->maker, "STEADY", -30.0);
    at(w, 140.0);
    maker_add(&w->maker, WH_EVENT_LEAVE, "2L");
    at(w, 150.0);
    maker_add(&w->maker, WH_EVENT_GAP, NULL);
    at(w, 160.0);
    maker_add(&w->maker, WH_EVENT_STAND, "2R");
    at(w, 200.0);
    maker_add(&w->maker, WH_EVENT_LEAVE, "2R");
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(log->trial_count, 1);
    assert_int_equal(log->trials[0].seat, seat(w, "2L"));
    assert_false(log->trials[0].woken);
    assert_int_equal(log->trials[0].end_us - log->trials[0].begin_us, 20000000);
    assert_false(answer(log, "NEW", seat(w, "2L"))->sent_before);
    assert_true(answer(log, "STEADY", seat(w, "2L"))->sent_before);
    assert_near(log->seats[seat(w, "2L")].stood_s, 20.0, 1e-9);
    assert_near(log->seats[seat(w, "2R")].stood_s, 0.0, 1e-9);
}

static void test_other_units(void **state)
{
    walk *w = *state;
    snprintf(w->maker.unit, sizeof w->maker.unit, "OTHER");
    maker_add(&w->maker, WH_EVENT_STAND, "1LO");
    at(w, 5.0);
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO");
    at(w, 6.0);
    maker_hear(&w->maker, "B", -10.0);
    const wh_walk_log *log = make_log(w, 0);
    assert_false(log->places[0].own);
    assert_false(log->seats[0].visited);
    assert_near(log->listened_s, 0.0, 1e-12);
    assert_int_equal(witness(log, "B")->nearest.axle, 0);
    assert_non_null(answer(log, "B", WH_LOG_NOWHERE));
}

/* Thousands of places, wheels that do not exist, times that run backwards or end of the scale, levels that are no numbers. */
static void test_nonsense(void **state)
{
    walk *w = *state;
    for (int i = 0; i < 600; i++) {
        snprintf(w->maker.unit, sizeof w->maker.unit, "X%d", i);
        maker_add(&w->maker, WH_EVENT_STAND, "1L");
        maker_hear(&w->maker, "A", -10.0);
    }
    snprintf(w->maker.unit, sizeof w->maker.unit, "T1");
    maker_add(&w->maker, WH_EVENT_STAND, "9L");
    maker_add(&w->maker, WH_EVENT_WOKEN, "9L");
    maker_add(&w->maker, WH_EVENT_STAND, "1LO")->at_us = INT64_MAX;
    maker_add(&w->maker, WH_EVENT_WOKEN, "1LO")->at_us = INT64_MAX;
    maker_hear(&w->maker, "A", -10.0)->at_us = INT64_MAX;
    maker_hear(&w->maker, "A", (double)NAN)->at_us = INT64_MIN;
    maker_hear(&w->maker, "A", -(double)INFINITY)->at_us = INT64_MIN;
    maker_hear(&w->maker, "A", -10.0)->heard.confidence = (double)NAN;
    maker_hear(&w->maker, "", -10.0);
    maker_add(&w->maker, WH_EVENT_LEAVE, "1LO")->at_us = INT64_MAX;
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(log->place_count, WH_LOG_PLACES_MAX);
    assert_int_equal(log->witness_count, 1);
    assert_true(log->witnesses[0].exists >= 0.0 && log->witnesses[0].exists <= 1.0);
    assert_true(isfinite(log->witnesses[0].best_dbfs));
    for (size_t i = 0; i < log->level_count; i++)
        assert_true(isfinite(log->levels[i].sum_dbfs));
    assert_true(isfinite(log->listened_s));
}

static void test_empty(void **state)
{
    walk *w = *state;
    const wh_walk_log *log = make_log(w, 0);
    assert_int_equal(log->witness_count + log->trial_count + log->place_count, 0);
}

#define WITH_WALK(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_WALK(test_levels_by_place),
        WITH_WALK(test_late_readings_belong_where_they_were_heard),
        WITH_WALK(test_late_readings_do_not_pass_a_mark),
        WITH_WALK(test_sendings_and_confidence),
        WITH_WALK(test_woken),
        WITH_WALK(test_late_answer_does_not_count),
        WITH_WALK(test_quiet_stand),
        WITH_WALK(test_other_units),
        WITH_WALK(test_nonsense),
        WITH_WALK(test_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
