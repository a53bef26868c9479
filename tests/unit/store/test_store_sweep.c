/* Sweeps event by event, lists of them, what was heard in the past, and a second process that reads. */
#include "store_fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static int64_t append(wh_store *store, const wh_sweep *sweep, wh_event event)
{
    wh_error error;
    if (wh_store_sweep_append(store, sweep->id, &event, &error) != WH_OK)
        fail_msg("%s", error.what);
    return event.id;
}

static void assert_same_heard(const wh_heard *a, const wh_heard *b)
{
    assert_string_equal(a->sensor, b->sensor);
    assert_string_equal(a->descriptor, b->descriptor);
    assert_int_equal(a->nickname, b->nickname);
    assert_int_equal(a->pressure_state, b->pressure_state);
    assert_true(a->pressure.kpa == b->pressure.kpa);
    assert_int_equal(a->from_absolute, b->from_absolute);
    assert_true(a->absolute.kpa == b->absolute.kpa);
    assert_int_equal(a->temperature_state, b->temperature_state);
    assert_true(a->temperature_c == b->temperature_c);
    assert_int_equal(a->battery_low, b->battery_low);
    assert_int_equal(a->sensor_fault, b->sensor_fault);
    assert_true(a->confidence == b->confidence && a->level_dbfs == b->level_dbfs && a->snr_db == b->snr_db &&
                a->carrier_hz == b->carrier_hz);
    assert_int_equal(a->copies, b->copies);
}

static void test_events_come_back(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("events"));
    wh_sweep *sweep = fixture_sweep(store, "T-88", true, 1000), *back;
    assert_true(sweep->id > 0);
    wh_event sent[WH_EVENT_KIND_COUNT + 2];
    size_t count = 0;
    for (unsigned kind = 0; kind < WH_EVENT_KIND_COUNT; kind++) {
        sent[count] = fixture_heard("0A000007", 2000 + kind);
        if (kind != WH_EVENT_HEARD && kind != WH_EVENT_UNKNOWN && kind != WH_EVENT_BIND)
            sent[count].heard = (wh_heard){0};
        sent[count].kind = (wh_event_kind)kind;
        strcpy(sent[count].unit, kind % 2 ? "T-88" : "");
        sent[count].position = kind % 2 ? (wh_position){2, WH_RIGHT, WH_INNER} : (wh_position){0};
        snprintf(sent[count].text, sizeof sent[count].text, "note; \"%u\" \xC3\xA9", kind);
        count++;
    }
    sent[count] = fixture_heard("~5C0FFE", 3000); /* a nickname: no pressure, no temperature */
    sent[count].heard.nickname = true;
    sent[count].heard.pressure_state = WH_VALUE_ABSENT;
    sent[count].heard.pressure.kpa = sent[count].heard.absolute.kpa = 0.0;
    sent[count].heard.from_absolute = false;
    sent[count].heard.temperature_state = WH_VALUE_FAULT;
    sent[count].heard.temperature_c = 0.0;
    sent[count].heard.battery_low = 1;
    sent[count].heard.sensor_fault = 1;
    count++;
    int64_t last = 0;
    for (size_t i = 0; i < count; i++) {
        sent[i].id = append(store, sweep, sent[i]);
        assert_true(sent[i].id > last);
        last = sent[i].id;
    }
    assert_int_equal(wh_store_sweep_load(store, sweep->id, &back, &error), WH_OK);
    assert_true(back->dated);
    assert_int_equal(back->begun_us, 1000);
    assert_string_equal(back->who, "R. Vale");
    assert_string_equal(back->source, "dongle 00000002");
    assert_string_equal(back->receiver, "gain 32 dB");
    assert_int_equal(back->unit_count, 1);
    assert_string_equal(back->units[0], "T-88");
    assert_int_equal(back->event_count, count);
    for (size_t i = 0; i < count; i++) {
        const wh_event *event = &back->events[i];
        assert_int_equal(event->id, sent[i].id);
        assert_int_equal(event->at_us, sent[i].at_us);
        assert_int_equal(event->kind, sent[i].kind);
        assert_string_equal(event->unit, sent[i].unit);
        assert_true(wh_position_equal(event->position, sent[i].position));
        assert_string_equal(event->text, sent[i].text);
        assert_same_heard(&event->heard, &sent[i].heard);
    }
    wh_sweep_free(&back);
    assert_int_equal(wh_store_sweep_load(store, 777, &back, &error), WH_ERR_NOT_FOUND);
    assert_null(back);
    wh_event lost = fixture_heard("0A000001", 1);
    assert_int_not_equal(wh_store_sweep_append(store, 777, &lost, &error), WH_OK); /* an event of no sweep */
    assert_int_equal(lost.id, 0);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

static void test_lists(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("lists"));
    wh_sweep *first = fixture_sweep(store, "T-88", true, 1), *second = fixture_sweep(store, "Anvil 3", true, 2),
             *third = fixture_sweep(store, "T-88", true, 3);
    append(store, first, (wh_event){.at_us = 10, .kind = WH_EVENT_END});
    append(store, third, (wh_event){.at_us = 30, .kind = WH_EVENT_END});
    append(store, third, (wh_event){.at_us = 31, .kind = WH_EVENT_STAND}); /* taken up again */
    wh_sweep_head *heads;
    size_t count;
    assert_int_equal(wh_store_sweep_list(store, &(wh_sweep_filter){0}, &heads, &count, &error), WH_OK);
    assert_int_equal(count, 3);
    assert_int_equal(heads[0].id, third->id); /* newest first */
    assert_int_equal(heads[0].last_us, 31);
    assert_false(heads[0].ended);
    assert_int_equal(heads[0].event_count, 2);
    assert_string_equal(heads[1].units, "Anvil 3");
    assert_int_equal(heads[1].last_us, 2); /* no event yet: when it began */
    assert_true(heads[2].ended);
    free(heads);
    assert_int_equal(wh_store_sweep_list(store, &(wh_sweep_filter){.unit = "T-88"}, &heads, &count, &error), WH_OK);
    assert_int_equal(count, 2);
    free(heads);
    assert_int_equal(wh_store_sweep_list(store, &(wh_sweep_filter){.open_only = true}, &heads, &count, &error), WH_OK);
    assert_int_equal(count, 2);
    assert_int_equal(heads[0].id, third->id);
    assert_int_equal(heads[1].id, second->id);
    free(heads);
    assert_int_equal(wh_store_sweep_list(store, &(wh_sweep_filter){.most = 1}, &heads, &count, &error), WH_OK);
    assert_int_equal(count, 1);
    assert_int_equal(heads[0].id, third->id);
    free(heads);
    assert_int_equal(wh_store_sweep_list(store, &(wh_sweep_filter){.unit = "none"}, &heads, &count, &error), WH_OK);
    assert_int_equal(count, 0);
    free(heads);
    wh_sweep_free(&first);
    wh_sweep_free(&second);
    wh_sweep_free(&third);
    wh_store_close(&store);
}

static void test_past_in_order(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("past"));
    wh_sweep *later = fixture_sweep(store, "T-88", true, 500), *earlier = fixture_sweep(store, "T-88", true, 100),
             *undated = fixture_sweep(store, "T-88", false, 0);
    append(store, later, fixture_heard("0A000007", 510));
    append(store, later, fixture_heard("0A000008", 505));
    append(store, earlier, fixture_heard("0A000007", 110));
    append(store, earlier, fixture_heard("0A000009", 111)); /* not asked for */
    append(store, undated, fixture_heard("0A000007", 3));   /* its clock is another one */
    wh_event bind = fixture_heard("0A000007", 512);         /* no reading */
    bind.kind = WH_EVENT_BIND;
    append(store, later, bind);
    static const char *const sensors[] = {"0A000008", "0A000007"};
    wh_past *past;
    size_t count;
    assert_int_equal(wh_store_past(store, sensors, 2, &past, &count, &error), WH_OK);
    assert_int_equal(count, 3);
    static const int64_t times[] = {110, 505, 510};
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(past[i].at_us, times[i]);
    assert_string_equal(past[1].heard.sensor, "0A000008");
    assert_true(past[1].heard.pressure.kpa == 612.25);
    free(past);
    assert_int_equal(wh_store_past(store, sensors, 0, &past, &count, &error), WH_OK);
    assert_int_equal(count, 0);
    free(past);
    wh_sweep_free(&later);
    wh_sweep_free(&earlier);
    wh_sweep_free(&undated);
    wh_store_close(&store);
}

/* Another process counts the events while this one goes on writing. */
static int reader(const char *path, int64_t sweep, int told)
{
    char byte;
    for (size_t expected = 1; expected <= 20; expected++) {
        wh_error error;
        wh_store *store;
        wh_sweep *seen = NULL;
        if (read(told, &byte, 1) != 1 || wh_store_open(path, WH_STORE_READ, &store, &error) != WH_OK)
            return 1;
        const wh_status status = wh_store_sweep_load(store, sweep, &seen, &error);
        if (status != WH_OK || seen->event_count < expected)
            return 2;
        wh_sweep_free(&seen);
        wh_store_close(&store);
    }
    return 0;
}

static void test_second_process_reads(void **state)
{
    (void)state;
    const char *path = fixture_path("shared");
    wh_store *store = fixture_open(path);
    wh_sweep *sweep = fixture_sweep(store, "T-88", true, 1);
    int pipes[2];
    assert_int_equal(pipe(pipes), 0);
    const pid_t child = fork(); /* it opens a connection of its own and leaves this one alone */
    if (child == 0)
        _exit(reader(path, sweep->id, pipes[0]));
    for (int i = 0; i < 20; i++) {
        append(store, sweep, fixture_heard("0A000001", i));
        assert_int_equal(write(pipes[1], "+", 1), 1);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    close(pipes[0]);
    close(pipes[1]);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_events_come_back),
        cmocka_unit_test(test_lists),
        cmocka_unit_test(test_past_in_order),
        cmocka_unit_test(test_second_process_reads),
    };
    return cmocka_run_group_tests(tests, fixture_begin, fixture_end);
}
