#include "../near.h"
#include "truth.h"
#include "truth_match.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static const char *const recordings[] = {"walk/first.sigmf-meta", "second.wav"};
static wh_csv_complaints complaints;
static wh_truth truth;

static wh_status read(const char *text)
{
    wh_csv_complaints_free(&complaints);
    return wh_truth_read(&truth, text, strlen(text), recordings, 2, &complaints);
}

static void test_units_and_orders(void **state)
{
    (void)state;
    assert_int_equal(read("sensor;pressure;temperature (degF);time;recording;air pressure\r\n"
                          "0A1B2C3D;7.24 bar;68;12,5 s;first;1013 Pa\r\n"),
                     WH_ERR_DATA); /* 1013 Pa is no air pressure; a decimal comma in a quantity is not read */
    assert_int_equal(complaints.errors, 2);
    assert_int_equal(read("sensor;pressure;temperature (degF);time;recording;air pressure kPa\r\n"
                          "0A1B2C3D;7.24 bar;68;12.5;first;99.1\r\n"
                          ";;;;;\r\n"
                          "red;105 psi;212;2026-03-02T07:15:04.5Z;second.wav;\r\n"
                          "red;825 kPa absolute;32;;;\r\n"),
                     WH_OK);
    assert_int_equal(truth.count, 3);
    assert_string_equal(truth.rows[0].sensor, "0A1B2C3D");
    assert_int_equal(truth.rows[0].recording, 0);
    assert_near(truth.rows[0].pressure_kpa, 724.0, 1e-9);
    assert_near(truth.rows[0].temperature_c, 20.0, 1e-9); /* 68 degF is 20 degC */
    assert_near(truth.rows[0].at_s, 12.5, 1e-9);
    assert_int_equal(truth.rows[1].line, 4);
    assert_int_equal(truth.rows[1].recording, 1);
    assert_true(truth.rows[1].is_utc);
    /* date -u -d 2026-03-02T07:15:04 +%s (GNU coreutils): 1772435704 */
    assert_true(truth.rows[1].at_utc_us == INT64_C(1772435704500000));
    assert_near(truth.rows[1].pressure_kpa, 105 * 6.894757, 1e-3);
    assert_near(truth.rows[1].temperature_c, 100.0, 1e-9);
    assert_true(truth.rows[2].absolute);
    assert_int_equal(truth.rows[2].recording, -1);
    assert_false(truth.rows[2].has_time);
    assert_true(truth.has_air);
    assert_near(truth.air_kpa, 99.1, 1e-9);
    wh_truth_free(&truth);
}

static void test_everything_wrong_is_told(void **state)
{
    (void)state;
    assert_int_equal(read("recording,time,sensor,pressure,speed\n"), WH_ERR_DATA);
    assert_non_null(strstr(complaints.items[0].what, "speed"));
    assert_int_equal(complaints.items[0].column, 5);
    assert_int_equal(read("recording,time,sensor,pressure\n"
                          "third,5,red,700 kPa\n"
                          "first,soon,red,700\n"
                          "first,5,red,9999 kPa\n"),
                     WH_ERR_DATA);
    assert_int_equal(complaints.errors, 4); /* no such recording; no time; no unit; impossible */
    assert_int_equal(complaints.items[0].row, 2);
    assert_int_equal(complaints.items[1].row, 3);
    assert_int_equal(complaints.items[1].column, 2);
    assert_int_equal(read("recording,pressure kPa\n"), WH_ERR_DATA); /* no rows */
    assert_int_equal(read("time\n5\n"), WH_ERR_DATA);                /* tells nothing */
    assert_int_equal(read("pressure kPa,pressure bar\n7,7\n"), WH_ERR_DATA);
    assert_int_equal(read(""), WH_ERR_DATA);
    wh_csv_complaints_free(&complaints);
}

static wh_field_row frame_at(unsigned recording, double at_s)
{
    return (wh_field_row){.recording = recording, .at_s = at_s, .has_time = true, .at_utc_us = 1772435700000000};
}

static void test_values_between_readings(void **state)
{
    (void)state;
    assert_int_equal(read("recording,time,pressure kPa,sensor\nfirst,10,700,red\nfirst,20,720,red\nsecond,,650,blue\n"),
                     WH_OK);
    double value;
    wh_field_row row = frame_at(0, 15.0);
    assert_true(wh_truth_value(&truth, &row, NULL, true, &value));
    assert_near(value, 710.0, 1e-9); /* half way */
    row.at_s = 25.0;
    assert_true(wh_truth_value(&truth, &row, "RED", true, &value));
    assert_near(value, 720.0, 1e-9);
    assert_false(
        wh_truth_value(&truth, &row, "blue", true, &value)); /* another sensor that strayed into the recording */
    assert_false(wh_truth_value(&truth, &row, NULL, false, &value)); /* no thermometer */
    row.at_s = 20.0 + WH_TRUTH_REACH_S + 1.0;
    assert_false(wh_truth_value(&truth, &row, NULL, true, &value));
    row = frame_at(1, 1e6);
    assert_true(wh_truth_value(&truth, &row, NULL, true, &value)); /* no time: all of it */
    assert_near(value, 650.0, 1e-9);
    assert_string_equal(wh_truth_only_sensor(&truth, 1), "blue");
    wh_truth_free(&truth);
    /* UTC against the clock of the recording; absolute made gauge with the air of the row. */
    assert_int_equal(read("time,pressure,air pressure\n2026-03-02T07:15:04Z,800 kPa absolute,90 kPa\n"), WH_OK);
    row = frame_at(0, 0.0);
    assert_true(wh_truth_value(&truth, &row, NULL, true, &value));
    assert_near(value, 710.0, 1e-9);
    row.has_time = false;
    assert_false(wh_truth_value(&truth, &row, NULL, true, &value));
    wh_truth_free(&truth);
    /* Two sensors named for one recording: an unnamed frame is of either. */
    assert_int_equal(read("recording,pressure kPa,sensor\nfirst,700,red\nfirst,650,blue\n"), WH_OK);
    row = frame_at(0, 1.0);
    assert_null(wh_truth_only_sensor(&truth, 0));
    assert_false(wh_truth_value(&truth, &row, "", true, &value));
    assert_true(wh_truth_value(&truth, &row, "blue", true, &value));
    assert_near(value, 650.0, 1e-9);
    wh_truth_free(&truth);
    wh_csv_complaints_free(&complaints);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_units_and_orders),
        cmocka_unit_test(test_everything_wrong_is_told),
        cmocka_unit_test(test_values_between_readings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
