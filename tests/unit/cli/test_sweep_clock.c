/* The sweep's time, and the bytes of keys. */
#include "sweep_clock.h"
#include "sweep_keys.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define S 1000000

static wh_stream dated(int64_t start_us)
{
    return (wh_stream){.sample_rate_hz = 250e3, .has_time = true, .start_utc_us = start_us};
}

static wh_stream undated(double start_s)
{
    return (wh_stream){.sample_rate_hz = 250e3, .start_s = start_s};
}

static void test_undated_recordings_follow_each_other(void **state)
{
    (void)state;
    wh_sweep_clock clock;
    wh_stream stream = undated(0.0);
    wh_sweep_clock_begin(&clock);
    wh_sweep_clock_input(&clock);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_false(clock.dated);
    assert_int_equal(clock.first_us, 0);
    wh_sweep_clock_samples(&clock, 500000);
    assert_int_equal(wh_sweep_clock_now(&clock), 2 * S);
    assert_int_equal(wh_sweep_clock_of(&clock, false, 0, 1.5), 3 * S / 2);
    stream = undated(10.0); /* a second stretch of the same recording */
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(wh_sweep_clock_now(&clock), 10 * S);
    wh_sweep_clock_samples(&clock, 250000);
    wh_sweep_clock_input(&clock); /* the next recording: a second after the end of the first */
    stream = undated(0.0);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(wh_sweep_clock_now(&clock), 12 * S);
    assert_int_equal(wh_sweep_clock_of(&clock, false, 0, 0.25), 12 * S + S / 4);
    assert_int_equal(clock.first_us, 0);
}

static void test_dates_decide(void **state)
{
    (void)state;
    wh_sweep_clock clock;
    wh_stream stream = dated(1000 * S);
    wh_sweep_clock_begin(&clock);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_true(clock.dated);
    wh_sweep_clock_samples(&clock, 250000);
    assert_int_equal(wh_sweep_clock_of(&clock, true, 1000 * S + 7, 99.0), 1000 * S + 7);
    stream = dated(999 * S); /* recordings in the wrong order */
    assert_false(wh_sweep_clock_stretch(&clock, &stream));
    stream = undated(0.0); /* a recording without a date in a sweep with dates */
    assert_false(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(wh_sweep_clock_now(&clock), 1001 * S); /* nothing has changed */
    stream = dated(2000 * S);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(clock.first_us, 1000 * S);
}

static void test_live_time_never_goes_back(void **state)
{
    (void)state;
    wh_sweep_clock clock;
    wh_stream stream = dated(1000 * S);
    wh_sweep_clock_begin(&clock);
    clock.live = true;
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    wh_sweep_clock_samples(&clock, 2500000);
    stream = dated(1004 * S); /* plugged in again; the computer's clock was set back meanwhile */
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(wh_sweep_clock_now(&clock), 1010 * S);
}

static void test_goes_on(void **state)
{
    (void)state;
    wh_sweep_clock clock;
    wh_stream stream = undated(0.0);
    wh_sweep_clock_go_on(&clock, false, 50 * S);
    assert_int_equal(wh_sweep_clock_now(&clock), 50 * S);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
    assert_int_equal(wh_sweep_clock_now(&clock), 51 * S);
    assert_int_equal(clock.first_us, 51 * S); /* steps count from this run's first recording */
    wh_sweep_clock_go_on(&clock, true, 1000 * S);
    stream = dated(900 * S);
    assert_false(wh_sweep_clock_stretch(&clock, &stream));
    stream = dated(1000 * S);
    assert_true(wh_sweep_clock_stretch(&clock, &stream));
}

static void test_keys(void **state)
{
    (void)state;
    /* Cursor keys by ECMA-48 (CSI A to D) and as terminals in application mode send them (SS3). */
    static const struct {
        const char *bytes;
        unsigned count, used;
        wh_key key;
    } cases[] = {
        {" ", 1, 1, WH_KEY_NEXT},         {"\r", 1, 1, WH_KEY_NEXT},     {"\n", 1, 1, WH_KEY_NEXT},
        {"\x7F", 1, 1, WH_KEY_BACK},      {"\b", 1, 1, WH_KEY_BACK},     {"w", 1, 1, WH_KEY_WOKEN},
        {"W", 1, 1, WH_KEY_WOKEN},        {"\x1b[C", 3, 3, WH_KEY_NEXT}, {"\x1b[B", 3, 3, WH_KEY_NEXT},
        {"\x1b[D", 3, 3, WH_KEY_BACK},    {"\x1bOA", 3, 3, WH_KEY_BACK}, {"\x1b[1;5C", 6, 6, WH_KEY_NEXT},
        {"\x1b[15~", 5, 5, WH_KEY_OTHER}, {"\x1b", 1, 0, WH_KEY_NONE},   {"\x1b[", 2, 0, WH_KEY_NONE},
        {"\x1bq", 2, 1, WH_KEY_OTHER},    {"x", 1, 1, WH_KEY_OTHER},     {"\xC3", 1, 1, WH_KEY_OTHER},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        unsigned used;
        assert_int_equal(wh_key_read((const unsigned char *)cases[i].bytes, cases[i].count, &used), cases[i].key);
        assert_int_equal(used, cases[i].used);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_undated_recordings_follow_each_other),
        cmocka_unit_test(test_dates_decide),
        cmocka_unit_test(test_live_time_never_goes_back),
        cmocka_unit_test(test_goes_on),
        cmocka_unit_test(test_keys),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
