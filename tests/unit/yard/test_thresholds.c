#include "thresholds.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "../near.h"

static void test_defaults(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    assert_near(thresholds.far_too_low_share, 0.80, 1e-12);   /* 29 CFR 1910.177(f): "80 % or less" */
    assert_near(thresholds.flat_share, 0.50, 1e-12);          /* CVSA: half the sidewall maximum or less */
    assert_near(thresholds.dual_difference_kpa, 34.47, 0.05); /* TMC RP 235A: 5 psi = 34.47 kPa */
    assert_near(thresholds.reference_c, 20.0, 1e-12);         /* 68 F */
}

/* Every double of the structure has one row, and its default lies within its own range. */
static void test_rows_cover_the_structure(void **state)
{
    (void)state;
    assert_int_equal(wh_threshold_row_count * sizeof(double), sizeof(wh_thresholds));
    bool seen[sizeof(wh_thresholds) / sizeof(double)] = {false};
    for (size_t i = 0; i < wh_threshold_row_count; i++) {
        const wh_threshold_row *row = &wh_threshold_rows[i];
        assert_int_equal(row->offset % sizeof(double), 0);
        assert_false(seen[row->offset / sizeof(double)]);
        seen[row->offset / sizeof(double)] = true;
        assert_true(row->least <= row->standard && row->standard <= row->most);
        assert_true(strlen(row->source) > 0 && strlen(row->meaning) > 0 && strlen(row->unit) > 0);
    }
}

static void test_set_and_get(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    assert_int_equal(wh_thresholds_set(&thresholds, "Low Share", 92.5, NULL), WH_OK);
    assert_near(thresholds.low_share, 0.925, 1e-12);
    assert_int_equal(wh_thresholds_set(&thresholds, "hot", 70, NULL), WH_OK);
    assert_near(thresholds.hot_c, 70, 0);
    for (size_t i = 0; i < wh_threshold_row_count; i++) {
        const wh_threshold_row *row = &wh_threshold_rows[i];
        assert_int_equal(wh_thresholds_set(&thresholds, row->name, row->most, NULL), WH_OK);
        assert_near(wh_threshold_value(&thresholds, row), row->most, 1e-9);
    }
}

/* What a regulation fixes can be made stricter, never weaker. */
static void test_regulation_is_the_least(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    wh_error error;
    assert_int_equal(wh_thresholds_set(&thresholds, "far too low share", 79.9, &error), WH_ERR_DATA);
    assert_non_null(strstr(error.what, "79.9 % is not between 80 and 100 %"));
    assert_int_equal(wh_thresholds_set(&thresholds, "flat share", 49.9, &error), WH_ERR_DATA);
    assert_near(thresholds.far_too_low_share, 0.80, 1e-12);
    assert_near(thresholds.flat_share, 0.50, 1e-12);
    assert_int_equal(wh_thresholds_set(&thresholds, "far too low share", 85, &error), WH_OK);
}

static void test_mistakes_are_explained(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    wh_error error;
    assert_int_equal(wh_thresholds_set(&thresholds, "low chare", 90, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.what, "low chare"));
    assert_non_null(strstr(error.fix, "low share, far too low share"));
    assert_int_equal(wh_thresholds_set(&thresholds, "hot", (double)NAN, &error), WH_ERR_DATA);
    assert_int_equal(wh_thresholds_set(&thresholds, "hot", (double)INFINITY, &error), WH_ERR_DATA);
}

static void test_source_of_a_figure(void **state)
{
    (void)state;
    wh_thresholds thresholds;
    wh_thresholds_defaults(&thresholds);
    const size_t share = offsetof(wh_thresholds, far_too_low_share), hot = offsetof(wh_thresholds, hot_c);
    assert_string_equal(wh_threshold_source(&thresholds, share), "29 CFR 1910.177(f)");
    assert_string_equal(wh_threshold_source(&thresholds, hot), "common practice, no source");
    assert_int_equal(wh_thresholds_set(&thresholds, "hot", 84, NULL), WH_OK);
    assert_string_equal(wh_threshold_source(&thresholds, hot), "fleet setting");
    assert_string_equal(wh_threshold_source(&thresholds, share), "29 CFR 1910.177(f)");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),
        cmocka_unit_test(test_rows_cover_the_structure),
        cmocka_unit_test(test_set_and_get),
        cmocka_unit_test(test_regulation_is_the_least),
        cmocka_unit_test(test_mistakes_are_explained),
        cmocka_unit_test(test_source_of_a_figure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
