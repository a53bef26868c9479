/* What is known of a unit: before and after a repair, and by which roster. */
#include "store_fixture.h"
#include "yard_case.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static wh_thresholds thresholds;

static wh_yard_case *load(wh_store *store, const char *unit)
{
    wh_yard_case *yard_case;
    wh_error error;
    wh_thresholds_defaults(&thresholds);
    const wh_case_options options = {.thresholds = &thresholds, .site = {101.325}};
    if (wh_yard_case_load(store, unit, &options, &yard_case, &error) != WH_OK)
        fail_msg("%s (%s)", error.what, error.fix);
    return yard_case;
}

static void append(wh_store *store, wh_sweep *sweep, wh_event event)
{
    wh_error error;
    if (wh_store_sweep_append(store, sweep->id, &event, &error) != WH_OK)
        fail_msg("%s", error.what);
}

/* He stands at every wheel for ten seconds and hears the sensor there three times; `sensors` in the order of the walk. */
static int64_t walk(wh_store *store, wh_sweep *sweep, const wh_unit *unit, const char *const *sensors, int64_t at_us)
{
    for (unsigned i = 0; i < unit->wheel_count; i++) {
        wh_event stand = {.kind = WH_EVENT_STAND, .at_us = at_us, .position = unit->wheels[i].position};
        snprintf(stand.unit, sizeof stand.unit, "%s", unit->name);
        append(store, sweep, stand);
        for (int n = 1; n <= 3; n++) {
            wh_event heard = fixture_heard(sensors[i], at_us + n * 2000000);
            heard.heard.level_dbfs = -20.0;
            append(store, sweep, heard);
        }
        at_us += 10000000;
    }
    return at_us;
}

static void mark(wh_store *store, wh_sweep *sweep, const char *unit, int64_t at_us)
{
    wh_event event = {.kind = WH_EVENT_REPAIRED, .at_us = at_us};
    snprintf(event.unit, sizeof event.unit, "%s", unit);
    append(store, sweep, event);
}

static void set_sensor(wh_store *store, const char *name, unsigned wheel, const char *sensor)
{
    wh_roster *roster;
    wh_error error;
    assert_int_equal(wh_store_roster_load(store, &roster, &error), WH_OK);
    wh_unit unit = *wh_roster_find(roster, name);
    snprintf(unit.wheels[wheel].sensor, sizeof unit.wheels[wheel].sensor, "%s", sensor);
    assert_int_equal(wh_roster_put(roster, &unit, &error), WH_OK);
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    wh_roster_destroy(&roster);
}

/* A store with the fixture's roster; *unit is a copy of T-88. */
static wh_store *begin(const char *name, wh_unit *unit, const char **sensors)
{
    static wh_roster *roster;
    wh_error error;
    wh_store *store = fixture_open(fixture_path(name));
    if (roster)
        wh_roster_destroy(&roster);
    roster = fixture_roster();
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    *unit = *wh_roster_find(roster, "T-88");
    for (unsigned i = 0; i < unit->wheel_count; i++)
        sensors[i] = wh_roster_find(roster, "T-88")->wheels[i].sensor;
    return store;
}

static const wh_finding *find(const wh_findings *findings, wh_finding_kind kind)
{
    for (size_t i = 0; findings && i < findings->count; i++)
        if (findings->items[i].kind == kind)
            return &findings->items[i];
    return NULL;
}

static void test_roster_of_an_earlier_time(void **state)
{
    (void)state;
    wh_unit unit;
    const char *sensors[WH_WHEELS_MAX];
    wh_error error;
    wh_store *store = begin("then", &unit, sensors);
    wh_sweep *sweep = fixture_sweep(store, "T-88", true, 1000);
    wh_event event = {.kind = WH_EVENT_LISTEN, .at_us = 1000};
    assert_int_equal(wh_store_sweep_append(store, sweep->id, &event, &error), WH_OK);
    const int64_t first = event.id;
    set_sensor(store, "T-88", 2, "0B000001");
    set_sensor(store, "T-88", 2, "0B000002");
    event.id = 0;
    assert_int_equal(wh_store_sweep_append(store, sweep->id, &event, &error), WH_OK);
    set_sensor(store, "T-88", 2, "");
    const struct {
        int64_t at;
        const char *sensor;
    } rows[] = {{first, sensors[2]}, {first + 1, "0B000002"}, {first + 2, ""}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wh_roster *then;
        assert_int_equal(wh_store_roster_load_at(store, rows[i].at, &then, &error), WH_OK);
        assert_string_equal(wh_roster_find(then, "T-88")->wheels[2].sensor, rows[i].sensor);
        assert_string_equal(wh_roster_find(then, "T-88")->wheels[3].sensor, sensors[3]);
        wh_roster_destroy(&then);
    }
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

/* One wheel has another sensor; it is entered, the repair marked, the wheels heard again. */
static void check_repair(const char *name, bool next_sweep)
{
    wh_unit unit;
    const char *sensors[WH_WHEELS_MAX];
    wh_store *store = begin(name, &unit, sensors);
    wh_sweep *sweep = fixture_sweep(store, "T-88", true, 1000);
    const wh_event listen = {.kind = WH_EVENT_LISTEN, .at_us = 1000};
    append(store, sweep, listen);
    sensors[2] = "0B00C0DE";
    int64_t at_us = walk(store, sweep, &unit, sensors, 2000000);

    wh_yard_case *yard_case = load(store, "T-88");
    assert_non_null(find(yard_case->findings, WH_FINDING_NOT_ON_RECORD));
    assert_int_equal(yard_case->changes->count, 1);
    assert_string_equal(yard_case->changes->items[0].new_sensor, "0B00C0DE");
    assert_null(yard_case->verification);
    assert_int_equal(yard_case->past_count, 3 * unit.wheel_count); /* each reading once, on record or not */
    wh_yard_case_free(&yard_case);

    set_sensor(store, "T-88", 2, "0B00C0DE");
    if (next_sweep) {
        wh_sweep_free(&sweep);
        sweep = fixture_sweep(store, "T-88", true, at_us);
    }
    append(store, sweep, listen); /* the receiver begins again, and another unit's repair is marked first */
    mark(store, sweep, "Anvil 3", at_us);
    mark(store, sweep, "T-88", at_us);
    yard_case = load(store, "T-88");
    assert_non_null(yard_case->verification); /* nothing heard since: nothing is mended */
    assert_int_equal(yard_case->verification->by_verdict[WH_VERDICT_MENDED], 0);
    assert_false(yard_case->verification->all_mended);
    wh_yard_case_free(&yard_case);

    walk(store, sweep, &unit, sensors, at_us + 1000000);
    yard_case = load(store, "T-88");
    assert_non_null(find(yard_case->earlier_findings, WH_FINDING_NOT_ON_RECORD));
    assert_null(find(yard_case->findings, WH_FINDING_NOT_ON_RECORD));
    assert_true(yard_case->verification->by_verdict[WH_VERDICT_MENDED] >= 1);
    assert_int_equal(yard_case->changes->count, 0);
    wh_yard_case_free(&yard_case);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

static void test_repair_in_one_sweep(void **state)
{
    (void)state;
    check_repair("one", false);
}

static void test_repair_and_the_next_sweep(void **state)
{
    (void)state;
    check_repair("two", true);
}

static void test_what_is_missing_is_said(void **state)
{
    (void)state;
    wh_unit unit;
    const char *sensors[WH_WHEELS_MAX];
    wh_store *store = begin("missing", &unit, sensors);
    wh_yard_case *yard_case;
    wh_error error;
    wh_thresholds_defaults(&thresholds);
    wh_case_options options = {.thresholds = &thresholds, .site = {101.325}};
    assert_int_equal(wh_yard_case_load(store, "T-8", &options, &yard_case, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.what, "did you mean 'T-88'"));
    assert_int_equal(wh_yard_case_load(store, "T-88", &options, &yard_case, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.what, "was not swept yet"));
    wh_sweep *sweep = fixture_sweep(store, "Anvil 3", true, 1000);
    options.sweep = sweep->id;
    assert_int_equal(wh_yard_case_load(store, "T-88", &options, &yard_case, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.what, "did not go round"));
    assert_null(yard_case);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_roster_of_an_earlier_time),
        cmocka_unit_test(test_repair_in_one_sweep),
        cmocka_unit_test(test_repair_and_the_next_sweep),
        cmocka_unit_test(test_what_is_missing_is_said),
    };
    return cmocka_run_group_tests_name("case of a unit", tests, fixture_begin, fixture_end);
}
