/* Other people's sensors leave no trace; the fleet's own stay. */
#include "store_fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void append(wh_store *store, const wh_sweep *sweep, const char *sensor, wh_event_kind kind)
{
    wh_error error;
    wh_event event = fixture_heard(sensor, 5);
    event.kind = kind;
    assert_int_equal(wh_store_sweep_append(store, sweep->id, &event, &error), WH_OK);
}

static size_t heard_of(wh_store *store, const wh_sweep *sweep, const char *sensor)
{
    wh_error error;
    wh_sweep *back;
    assert_int_equal(wh_store_sweep_load(store, sweep->id, &back, &error), WH_OK);
    size_t count = 0;
    for (size_t i = 0; i < back->event_count; i++)
        count += strcmp(back->events[i].heard.sensor, sensor) == 0;
    wh_sweep_free(&back);
    return count;
}

/* Does the text stand anywhere in the file or its journal? */
static bool traces(const char *path, const char *text)
{
    static const char *const ends[] = {"", "-wal"};
    for (size_t i = 0; i < 2; i++) {
        char name[200];
        snprintf(name, sizeof name, "%s%s", path, ends[i]);
        FILE *file = fopen(name, "rb");
        size_t matched = 0;
        int byte;
        while (file && (byte = getc(file)) != EOF && text[matched])
            matched = (char)byte == text[matched] ? matched + 1 : (char)byte == text[0];
        if (file)
            fclose(file);
        if (!text[matched])
            return true;
    }
    return false;
}

static void test_strangers(void **state)
{
    (void)state;
    wh_error error;
    const char *path = fixture_path("strangers");
    wh_store *store = fixture_open(path);
    wh_roster *roster = fixture_roster();
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    wh_roster_destroy(&roster);
    wh_sweep *first = fixture_sweep(store, "T-88", true, 1), *second = fixture_sweep(store, "Anvil 3", true, 2);
    append(store, first, "0A000001", WH_EVENT_HEARD); /* on record, at another unit */
    append(store, first, "BADCAFE5", WH_EVENT_HEARD); /* nobody's: twice here, once in the other sweep */
    append(store, first, "BADCAFE5", WH_EVENT_HEARD);
    append(store, second, "BADCAFE5", WH_EVENT_HEARD);
    append(store, first, "0B00B1E5", WH_EVENT_HEARD); /* the technician said where it is */
    append(store, first, "0B00B1E5", WH_EVENT_BIND);
    append(store, first, "0C0FFEE0", WH_EVENT_HEARD); /* attributed to a wheel */
    append(store, first, "", WH_EVENT_UNKNOWN);       /* has no ID */
    assert_true(traces(path, "BADCAFE5"));
    static const char *const keep[] = {"0C0FFEE0"};
    size_t count;
    assert_int_equal(wh_store_forget_strangers(store, first->id, keep, 1, &count, &error), WH_OK);
    assert_int_equal(count, 2);
    assert_int_equal(heard_of(store, first, "BADCAFE5"), 0);
    assert_int_equal(heard_of(store, second, "BADCAFE5"), 1); /* another sweep was not asked for */
    assert_int_equal(heard_of(store, first, "0A000001"), 1);
    assert_int_equal(heard_of(store, first, "0B00B1E5"), 2);
    assert_int_equal(heard_of(store, first, "0C0FFEE0"), 1);
    assert_int_equal(heard_of(store, first, ""), 1);
    assert_int_equal(wh_store_forget_strangers(store, 0, NULL, 0, &count, &error), WH_OK);
    assert_int_equal(count, 2); /* in all sweeps, and nothing is kept now: the stranger and 0C0FFEE0 */
    assert_false(traces(path, "BADCAFE5"));
    assert_true(traces(path, "0B00B1E5"));
    wh_sweep_free(&first);
    wh_sweep_free(&second);
    wh_store_close(&store);
}

static void test_one_sensor(void **state)
{
    (void)state;
    wh_error error;
    const char *path = fixture_path("sensor");
    wh_store *store = fixture_open(path);
    wh_sweep *sweep = fixture_sweep(store, "T-88", true, 1);
    append(store, sweep, "BADCAFE5", WH_EVENT_HEARD);
    append(store, sweep, "BADCAFE5", WH_EVENT_BIND);
    append(store, sweep, "0A000001", WH_EVENT_HEARD);
    size_t count;
    assert_int_equal(wh_store_forget_sensor(store, "BADCAFE5", &count, &error), WH_OK);
    assert_int_equal(count, 2);
    assert_false(traces(path, "BADCAFE5"));
    assert_int_equal(heard_of(store, sweep, "0A000001"), 1);
    assert_int_equal(wh_store_forget_sensor(store, "BADCAFE5", &count, &error), WH_OK);
    assert_int_equal(count, 0);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

static void test_old_sweeps(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("old"));
    wh_sweep *old = fixture_sweep(store, "T-88", true, 1), *long_one = fixture_sweep(store, "T-88", true, 2),
             *undated = fixture_sweep(store, "T-88", false, 0);
    wh_event late = fixture_heard("0A000007", 2000);
    append(store, old, "0A000007", WH_EVENT_HEARD);
    assert_int_equal(wh_store_sweep_append(store, long_one->id, &late, &error), WH_OK);
    size_t count;
    assert_int_equal(wh_store_forget_before(store, 1000, &count, &error), WH_OK);
    assert_int_equal(count, 1);
    wh_sweep *back;
    assert_int_equal(wh_store_sweep_load(store, old->id, &back, &error), WH_ERR_NOT_FOUND);
    assert_int_equal(heard_of(store, long_one, "0A000007"), 1); /* its last event is newer */
    assert_int_equal(wh_store_sweep_load(store, undated->id, &back, &error), WH_OK);
    wh_sweep_free(&back);
    /* An id is never given twice. */
    wh_sweep *next = fixture_sweep(store, "T-88", true, 3);
    assert_true(next->id > undated->id);
    wh_sweep_free(&next);
    wh_sweep_free(&old);
    wh_sweep_free(&long_one);
    wh_sweep_free(&undated);
    wh_store_close(&store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_strangers),
        cmocka_unit_test(test_one_sensor),
        cmocka_unit_test(test_old_sweeps),
    };
    return cmocka_run_group_tests(tests, fixture_begin, fixture_end);
}
