#include "wheelhark/finding.h"
#include "wheelhark/sweep.h"

#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void check_spelling(const char *name)
{
    assert_true(*name);
    assert_string_not_equal(name, "unknown");
    for (const char *c = name; *c; c++)
        assert_true(islower((unsigned char)*c) || *c == '-');
}

static void test_event_names(void **state)
{
    (void)state;
    for (int i = 0; i < WH_EVENT_KIND_COUNT; i++) {
        wh_event_kind kind = WH_EVENT_KIND_COUNT;
        check_spelling(wh_event_kind_name((wh_event_kind)i));
        assert_true(wh_event_kind_parse(wh_event_kind_name((wh_event_kind)i), &kind));
        assert_int_equal(kind, i);
    }
    wh_event_kind kind;
    assert_false(wh_event_kind_parse("", &kind));
    assert_false(wh_event_kind_parse("unknown", &kind));
    assert_string_equal(wh_event_kind_name(WH_EVENT_KIND_COUNT), "unknown");
}

static void test_finding_names(void **state)
{
    (void)state;
    for (int i = 0; i < WH_FINDING_KIND_COUNT; i++) {
        check_spelling(wh_finding_kind_name((wh_finding_kind)i));
        assert_true(wh_finding_kind_text((wh_finding_kind)i)[0]);
        for (int other = 0; other < i; other++) {
            assert_string_not_equal(wh_finding_kind_name((wh_finding_kind)i),
                                    wh_finding_kind_name((wh_finding_kind)other));
            assert_string_not_equal(wh_finding_kind_text((wh_finding_kind)i),
                                    wh_finding_kind_text((wh_finding_kind)other));
        }
    }
    assert_string_equal(wh_finding_kind_name(WH_FINDING_NOT_ON_RECORD), "not-on-record");
    assert_string_equal(wh_finding_kind_name(WH_FINDING_KIND_COUNT), "unknown");
    assert_string_equal(wh_severity_name(WH_SEVERITY_NOTE), "note");
    assert_string_equal(wh_severity_name(WH_SEVERITY_CHECK), "check");
    assert_string_equal(wh_severity_name(WH_SEVERITY_FAULT), "fault");
    assert_string_equal(wh_severity_name(WH_SEVERITY_COUNT), "unknown");
}

static wh_reading sample(void)
{
    return (wh_reading){
        .descriptor = "demo-fsk-manchester",
        .sensor = "0A1B2C3D",
        .pressure_state = WH_VALUE_OK,
        .pressure = {724.0},
        .from_absolute = true,
        .absolute = {825.3},
        .temperature_state = WH_VALUE_OK,
        .temperature_c = 18.5,
        .confidence = 0.998,
        .carrier_hz = 433.918e6,
        .snr_db = 21.3,
        .level_dbfs = -33.0,
        .copies = 3,
    };
}

static void test_heard(void **state)
{
    (void)state;
    const wh_reading reading = sample();
    wh_heard heard;
    memset(&heard, 0xAA, sizeof heard);
    wh_heard_of(&heard, &reading);
    assert_string_equal(heard.sensor, "0A1B2C3D");
    assert_string_equal(heard.descriptor, "demo-fsk-manchester");
    assert_false(heard.nickname);
    assert_int_equal(heard.pressure_state, WH_VALUE_OK);
    assert_true(heard.pressure.kpa == 724.0 && heard.from_absolute && heard.absolute.kpa == 825.3);
    assert_int_equal(heard.temperature_state, WH_VALUE_OK);
    assert_true(heard.temperature_c == 18.5 && heard.confidence == 0.998);
    assert_true(heard.level_dbfs == -33.0 && heard.snr_db == 21.3 && heard.carrier_hz == 433.918e6);
    assert_int_equal(heard.copies, 3);
    assert_int_equal(heard.battery_low, -1);
    assert_int_equal(heard.sensor_fault, 0);
}

static void test_heard_flags(void **state)
{
    (void)state;
    wh_reading reading = sample();
    wh_heard heard;
    reading.flag_count = 2;
    reading.flags[0] = (wh_flag){"battery low", false};
    reading.flags[1] = (wh_flag){"accelerometer fault", false};
    wh_heard_of(&heard, &reading);
    assert_int_equal(heard.battery_low, 0);
    assert_int_equal(heard.sensor_fault, 0);
    reading.flags[0].set = reading.flags[1].set = true;
    wh_heard_of(&heard, &reading);
    assert_int_equal(heard.battery_low, 1);
    assert_int_equal(heard.sensor_fault, 1);
}

static void test_heard_faults(void **state)
{
    (void)state;
    wh_reading reading = sample();
    wh_heard heard;
    reading.pressure_state = WH_VALUE_NOT_AVAILABLE; /* says nothing about a fault */
    wh_heard_of(&heard, &reading);
    assert_int_equal(heard.sensor_fault, 0);
    reading.pressure_state = WH_VALUE_FAULT;
    wh_heard_of(&heard, &reading);
    assert_int_equal(heard.sensor_fault, 1);
    reading.pressure_state = WH_VALUE_OK;
    reading.temperature_state = WH_VALUE_FAULT;
    wh_heard_of(&heard, &reading);
    assert_int_equal(heard.sensor_fault, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_event_names), cmocka_unit_test(test_finding_names), cmocka_unit_test(test_heard),
        cmocka_unit_test(test_heard_flags), cmocka_unit_test(test_heard_faults),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
