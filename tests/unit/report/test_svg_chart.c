#include "svg_chart.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static const wh_chart plain = {"Trend <K-17>", "days", "kPa", 0.0, 10.0, 600.0, 800.0, 480, 240};

static unsigned occurrences(const char *text, const char *part)
{
    unsigned count = 0;
    for (const char *p = strstr(text, part); p; p = strstr(p + 1, part))
        count++;
    return count;
}

static void test_ticks_are_1_2_5(void **state)
{
    (void)state;
    static const struct {
        double range;
        unsigned wanted;
        double tick;
    } rows[] = {{10, 10, 1}, {10, 8, 2}, {200, 5, 50}, {0.7, 5, 0.2}, {1e-6, 4, 5e-7}, {99, 5, 20}, {1e9, 3, 5e8}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_true(fabs(wh_chart_tick(rows[i].range, rows[i].wanted) / rows[i].tick - 1.0) < 1e-9);
}

static void test_points_stand_where_they_belong(void **state)
{
    (void)state;
    /* The frame is 64..464 wide and 30..196 high: half of 0..10 is 264, a quarter of 600..800 from below is 154.5. */
    const double x[] = {5.0, 11.0, NAN}, y[] = {650.0, 700.0, 700.0};
    wh_text text = {0};
    wh_chart_begin(&text, &plain);
    wh_chart_points(&text, &plain, x, y, 3, WH_MARK_DISC);
    wh_chart_end(&text);
    assert_int_equal(occurrences(text.data, "<circle"), 1);
    assert_non_null(strstr(text.data, "cx='264' cy='154.5'"));
    assert_non_null(strstr(text.data, ">650<"));
    assert_non_null(strstr(text.data, "Trend &lt;K-17&gt;"));
    wh_text_free(&text);
}

static void test_line_breaks_at_gaps(void **state)
{
    (void)state;
    const double x[] = {0.0, 1.0, 2.0, 3.0}, y[] = {600.0, NAN, 700.0, 900.0};
    wh_text text = {0};
    wh_chart_line(&text, &plain, x, y, 4, false);
    assert_int_equal(occurrences(text.data, "<polyline"), 2);
    assert_non_null(strstr(text.data, "points='64,196'"));
    assert_non_null(strstr(text.data, "points='144,113 184,30'")); /* 900 is clamped to the frame */
    wh_text_free(&text);
}

/* Equal ends, huge and tiny ranges must end, and stay within bounds. */
static void test_odd_ranges(void **state)
{
    (void)state;
    static const double ends[][2] = {{5, 5}, {0, 1e300}, {-1e-12, 1e-12}, {1e15, 1e15 + 1}, {3, -3}};
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        wh_chart chart = plain;
        chart.x_low = chart.y_low = ends[i][0];
        chart.x_high = chart.y_high = ends[i][1];
        wh_text text = {0};
        wh_chart_begin(&text, &chart);
        wh_chart_level(&text, &chart, ends[i][0], "set");
        wh_chart_span(&text, &chart, ends[i][0], ends[i][1], "part");
        wh_chart_end(&text);
        assert_true(text.length < 16384);
        assert_int_equal(occurrences(text.data, "nan"), 0);
        wh_text_free(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ticks_are_1_2_5),
        cmocka_unit_test(test_points_stand_where_they_belong),
        cmocka_unit_test(test_line_breaks_at_gaps),
        cmocka_unit_test(test_odd_ranges),
    };
    return cmocka_run_group_tests_name("charts", tests, NULL, NULL);
}
