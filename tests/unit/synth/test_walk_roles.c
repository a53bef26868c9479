/* The scenario of a simulated walk as a table, and the walk made from it. */
#include "synth_walk.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define HEAD "sensor,unit,position,descriptor,pressure,temperature,fields,answers,visits,every\n"

static wh_walk_role *roles;
static size_t count;
static wh_csv_complaints complaints;

static wh_status parse(const char *text)
{
    free(roles);
    wh_csv_complaints_free(&complaints);
    complaints = (wh_csv_complaints){0};
    return wh_walk_roles_parse(text, strlen(text), &roles, &count, &complaints);
}

static void test_reads_roles(void **state)
{
    (void)state;
    assert_int_equal(parse(HEAD "0A000001,Finch,1L,demo-fsk-manchester,724 kPa gauge,18 degC,battery low=yes,2,2,\n"
                                "77AA0011,stranger,2lo,demo-fsk-manchester,,,,never,,9\n"
                                "66BB0022,passing,,demo-fsk-manchester,,,,,,\"12,5\"\n"),
                     WH_ERR_DATA); /* a decimal comma in a table of commas is not clear */
    assert_int_equal(complaints.items[0].row, 4);
    assert_int_equal(complaints.items[0].column, 10);
    assert_int_equal(parse(HEAD "0A000001,Finch,1L,demo-fsk-manchester,724 kPa gauge,18 degC,battery low=yes,2,2,\n"
                                "77AA0011,stranger,2lo,demo-fsk-manchester,,,,never,,9\n"
                                "66BB0022,passing,,demo-fsk-manchester,,,,,,12.5\n"),
                     WH_OK);
    assert_int_equal(count, 3);
    assert_int_equal(roles[0].answers, 2);
    assert_int_equal(roles[0].visits, 2);
    assert_true(roles[0].every_s == 0.0);
    assert_string_equal(roles[0].fields, "battery low=yes");
    assert_int_equal(roles[1].answers, 0);
    assert_true(wh_position_equal(roles[1].position, (wh_position){2, WH_LEFT, WH_OUTER}));
    assert_int_equal(roles[2].answers, 1);
    assert_int_equal(roles[2].position.axle, 0);
    assert_true(roles[2].every_s == 12.5);
}

static void test_mistakes_are_told(void **state)
{
    (void)state;
    static const struct {
        const char *row;
        unsigned column;
    } cases[] = {
        {",Finch,1L,demo-fsk-manchester,,,,,,\n", 1},         {"0A,,1L,demo-fsk-manchester,,,,,,\n", 2},
        {"0A,Finch,1X,demo-fsk-manchester,,,,,,\n", 3},       {"0A,Finch,1L,,,,,,,\n", 4},
        {"0A,Finch,1L,demo-fsk-manchester,,,,3,,\n", 8},      {"0A,Finch,1L,demo-fsk-manchester,,,,,9,\n", 9},
        {"0A,Finch,1L,demo-fsk-manchester,,,,,,often\n", 10}, {"0A,Finch,1L,demo-fsk-manchester,,,,,,0\n", 10},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[400];
        snprintf(text, sizeof text, HEAD "%s", cases[i].row);
        assert_int_equal(parse(text), WH_ERR_DATA);
        assert_int_equal(complaints.errors, 1);
        assert_int_equal(complaints.items[0].row, 2);
        assert_int_equal(complaints.items[0].column, cases[i].column);
        assert_true(complaints.items[0].fix[0] != '\0');
    }
}

/* A tractor with a single axle: two wheels. */
static wh_roster *roster(void)
{
    static const bool dual[] = {false};
    wh_unit unit;
    wh_roster *made = wh_roster_create();
    assert_int_equal(wh_unit_make(&unit, "Finch", WH_TRACTOR, 1, dual, NULL), WH_OK);
    assert_int_equal(wh_roster_put(made, &unit, NULL), WH_OK);
    return made;
}

static wh_status walk(const char *rows, wh_synth_walk_result *result, wh_error *error)
{
    char text[1000];
    snprintf(text, sizeof text, HEAD "%s", rows);
    assert_int_equal(parse(text), WH_OK);
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_file(set, getenv("WH_TEST_DESCRIPTOR"), NULL, NULL), WH_OK);
    wh_roster *fleet = roster();
    wh_scene *scene = wh_scene_create(1);
    wh_synth_walk_spec spec = {.roster = fleet,
                               .descriptors = set,
                               .roles = roles,
                               .role_count = count,
                               .centre_hz = 433.9e6,
                               .sample_rate_hz = 250e3,
                               .seed = 7};
    wh_walk_settings_usual(&spec.air);
    const wh_status status = wh_synth_walk(&spec, scene, result, error);
    wh_scene_destroy(&scene);
    wh_roster_destroy(&fleet);
    wh_descriptor_set_destroy(&set);
    return status;
}

static size_t sent_by(const wh_synth_walk_result *result, size_t role)
{
    size_t times = 0;
    for (size_t i = 0; i < result->truth_count; i++)
        times += result->truth[i].role == role;
    return times;
}

static void test_walk_as_the_scenario_says(void **state)
{
    (void)state;
    wh_error error;
    wh_synth_walk_result result;
    assert_int_equal(walk("0A000001,Finch,1L,demo-fsk-manchester,,,,2,,\n"      /* answers at the second waking */
                          "0A000002,Finch,1R,demo-fsk-manchester,,,,never,2,\n" /* never, though visited twice */
                          "77AA0011,stranger,1RO,demo-fsk-manchester,,,,,,2\n", /* every two seconds */
                          &result, &error),
                     WH_OK);
    static const wh_event_kind actions[] = {WH_EVENT_STAND, WH_EVENT_WOKEN, WH_EVENT_WOKEN, WH_EVENT_STAND,
                                            WH_EVENT_WOKEN, WH_EVENT_WOKEN, WH_EVENT_STAND, WH_EVENT_WOKEN,
                                            WH_EVENT_WOKEN, WH_EVENT_LEAVE};
    assert_int_equal(result.step_count, sizeof actions / sizeof *actions);
    for (size_t i = 0; i < result.step_count; i++) {
        assert_int_equal(result.steps[i].action, actions[i]);
        assert_string_equal(result.steps[i].unit, "Finch");
        assert_true(i == 0 || result.steps[i].offset_s > result.steps[i - 1].offset_s);
    }
    assert_int_equal(sent_by(&result, 0), 1);
    assert_int_equal(sent_by(&result, 1), 0);
    assert_true(fabs((double)sent_by(&result, 2) - result.duration_s / 2.0) <= 1.5);
    for (size_t i = 0; i < result.truth_count; i++) {
        assert_true(i == 0 || result.truth[i].offset_s >= result.truth[i - 1].offset_s);
        assert_true(result.truth[i].offset_s < result.duration_s);
        if (result.truth[i].role == 0) /* after the second waking, before he goes on */
            assert_true(result.truth[i].offset_s > result.steps[2].offset_s &&
                        result.truth[i].offset_s < result.steps[3].offset_s);
    }
    wh_synth_walk_free(&result);
}

static void test_what_cannot_be(void **state)
{
    (void)state;
    static const struct {
        const char *row, *word;
    } cases[] = {
        {"0A000001,Finch,3L,demo-fsk-manchester,,,,,,\n", "no wheel '3L'"},
        {"0A000001,Finch,1L,demo-nothing,,,,,,\n", "no descriptor 'demo-nothing'"},
        {"0A000001,Finch,1L,demo-fsk-manchester,724 parsecs,,,,,\n", "row 2"},
        {"0A000001,Finch,1L,demo-fsk-manchester,,,colour=red,,,\n", "row 2"},
        {"77AA0011,stranger,1LO,demo-fsk-manchester,,,,,,2\n", "nobody's wheels"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        wh_error error;
        wh_synth_walk_result result;
        assert_int_not_equal(walk(cases[i].row, &result, &error), WH_OK);
        assert_non_null(strstr(error.what, cases[i].word));
        wh_synth_walk_free(&result);
    }
}

static int clean(void **state)
{
    (void)state;
    free(roles);
    wh_csv_complaints_free(&complaints);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reads_roles),
        cmocka_unit_test(test_mistakes_are_told),
        cmocka_unit_test(test_walk_as_the_scenario_says),
        cmocka_unit_test(test_what_cannot_be),
    };
    return cmocka_run_group_tests(tests, NULL, clean);
}
