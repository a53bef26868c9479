/* A sensor known by a nickname gets its ID: the history goes with it. */
#include "sweep_adopt.h"

#include "sweep_list.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define RADIO                                                                                                          \
    "provenance:\n  kind: invented\nradio:\n  carriers: [433.92 MHz]\n  modulation: fsk\n  chip rate: 25 kchip/s\n"    \
    "  deviation: 25 kHz\nline:\n  code: manchester\n  one: high-low\nframe:\n"                                        \
    "  preamble: {bits: \"1\", repeats: 20}\n  sync: {bits: \"1110 0101 1010 1100\"}\n  payload: 72 bits\n"

static const char partial[] = "wheelhark descriptor: 1\nname: demo-kind\nsummary: Known in part\npartial: yes\n" RADIO
                              "fields:\n  - {name: family, role: constant, place: {from: 0, bits: 8}, value: 0x3C}\n"
                              "steady: {from: 8, bits: 24}\n"
                              "examples:\n  - frame: {hex: \"3C5A17C30102030405\", bits: 72}\n    expect: {}\n";
static const char complete[] =
    "wheelhark descriptor: 1\nname: demo-kind\nsummary: Known now\n" RADIO
    "checks:\n  - {kind: crc, width: 8 bits, polynomial: 0x07, over: {from: 0, bits: 64}, place: {from: 64, bits: 8}}\n"
    "fields:\n  - {name: sensor, role: sensor, place: {from: 8, bits: 24}}\nsteady: {from: 8, bits: 24}\n"
    "examples:\n  - frame: {hex: \"3C5A17C30102030413\", bits: 72}\n    expect: {sensor: 5A17C3}\n";

static void told(void *context, const wh_complaint *complaint)
{
    (void)context;
    fprintf(stderr, "%u:%u: %s\n", complaint->line, complaint->column, complaint->reason);
}

static wh_descriptor_set *set_of(const char *text)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_text(set, "kind", text, strlen(text), told, NULL), WH_OK);
    return set;
}

static wh_reading reading_of(const wh_descriptor_set *set, double confidence)
{
    static const uint8_t bytes[] = {0x3C, 0x5A, 0x17, 0xC3, 1, 2, 3, 4, 0x13};
    const wh_absolute site = {101.325};
    wh_reading reading = {.descriptor = "demo-kind", .confidence = confidence};
    wh_frame_bits frame = {.count = 72};
    memcpy(frame.data, bytes, sizeof bytes);
    wh_fields_decode(wh_descriptor_set_find(set, "demo-kind"), &frame, site, &reading);
    return reading;
}

static void test_history_follows(void **state)
{
    (void)state;
    wh_descriptor_set *before = set_of(partial), *after = set_of(complete);
    const wh_reading nameless = reading_of(before, 0.99), named = reading_of(after, 0.99),
                     doubtful = reading_of(after, 0.8);
    char nickname[WH_NICKNAME_SIZE];
    assert_true(nameless.nickname);
    assert_string_equal(named.sensor, "5A17C3");
    assert_false(wh_nickname_before(before, &nameless, nickname));
    assert_false(wh_nickname_before(after, &doubtful, nickname));
    assert_true(wh_nickname_before(after, &named, nickname));
    assert_string_equal(nickname, nameless.sensor);

    /* A store with one reading under the nickname, which is on record at a wheel as well. */
    char path[] = "adopt-test-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    unlink(path);
    wh_store *store;
    wh_error error;
    wh_unit unit;
    const bool dual[] = {false};
    const char *const units[] = {"K-17"};
    assert_int_equal(wh_store_open(path, WH_STORE_WRITE, &store, &error), WH_OK);
    wh_roster *roster = wh_roster_create();
    assert_int_equal(wh_unit_make(&unit, "K-17", WH_TRAILER, 1, dual, &error), WH_OK);
    strcpy(unit.wheels[0].sensor, nickname);
    assert_int_equal(wh_roster_put(roster, &unit, &error), WH_OK);
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    wh_sweep *sweep = wh_sweep_create(units, 1);
    sweep->dated = true;
    assert_int_equal(wh_store_sweep_begin(store, sweep, &error), WH_OK);
    wh_event event = {.kind = WH_EVENT_HEARD, .at_us = 1000};
    wh_heard_of(&event.heard, &nameless);
    assert_int_equal(wh_store_sweep_append(store, sweep->id, &event, &error), WH_OK);
    assert_int_equal(wh_sweep_add(sweep, &event), WH_OK);

    size_t count = 0;
    assert_int_equal(wh_adopt_history(store, sweep, roster, nickname, named.sensor, &count, &error), WH_OK);
    assert_int_equal(count, 1);
    assert_string_equal(sweep->events[0].heard.sensor, "5A17C3");
    assert_string_equal(wh_roster_find(roster, "K-17")->wheels[0].sensor, "5A17C3");
    const char *const sensors[] = {"5A17C3"};
    wh_past *past;
    assert_int_equal(wh_store_past(store, sensors, 1, &past, &count, &error), WH_OK);
    assert_int_equal(count, 1);
    assert_false(past[0].heard.nickname);
    wh_roster *stored;
    assert_int_equal(wh_store_roster_load(store, &stored, &error), WH_OK);
    assert_string_equal(wh_roster_find(stored, "K-17")->wheels[0].sensor, "5A17C3");
    /* The second time there is nothing left to rename. */
    assert_int_equal(wh_adopt_history(store, sweep, roster, nickname, named.sensor, &count, &error), WH_OK);
    assert_int_equal(count, 0);

    free(past);
    wh_roster_destroy(&stored);
    wh_roster_destroy(&roster);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
    unlink(path);
    wh_descriptor_set_destroy(&before);
    wh_descriptor_set_destroy(&after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_history_follows)};
    return cmocka_run_group_tests_name("a nickname becomes an ID", tests, NULL, NULL);
}
