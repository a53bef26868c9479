#include "summary_text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static void check(const wh_run_summary *summary, double work_s, const char *expected)
{
    wh_text text = {0};
    wh_summary_text(&text, summary, work_s);
    assert_string_equal(text.data, expected);
    wh_text_free(&text);
}

static void test_full(void **state)
{
    (void)state;
    wh_run_summary summary = {.inputs = 2,
                              .stats = {.samples = 9900,
                                        .samples_lost = 100,
                                        .samples_invalid = 5,
                                        .seconds = 120.04,
                                        .bursts = 9,
                                        .bursts_decoded = 6,
                                        .readings = 1,
                                        .readings_weak = 2,
                                        .clipped_samples = 99}};
    summary.stats.reasons[WH_REASON_DECODED] = 6;
    summary.stats.reasons[WH_REASON_BAD_CHECK] = 2;
    summary.stats.reasons[WH_REASON_STEADY_CARRIER] = 1;
    check(
        &summary, 0.5,
        "2 inputs, 120.0 s of signal in 0.50 s (240.1 x real time)\n"
        "9 bursts heard, 6 decoded, 1 reading, 2 more too uncertain to report\n"
        "  1 not decoded: a steady carrier or longer than any sensor sends\n"
        "  2 not decoded: the check (CRC, sum or parity) fails\n"
        "100 samples were lost (1.00 %): sensors may have been missed\n"
        "5 samples were no numbers and were taken as silence\n"
        "1.000 % of the samples are clipped: the receiver was overdriven; use a lower --gain or stand further away\n");
}

static void test_small(void **state)
{
    (void)state;
    const wh_run_summary summary = {.inputs = 1,
                                    .stats = {.samples = 100000, .seconds = 1, .bursts = 1, .clipped_samples = 100}};
    /* At a tenth of a percent: told, no advice yet. */
    check(&summary, 0,
          "1 input, 1.0 s of signal\n1 burst heard, 0 decoded, 0 readings\n"
          "0.100 % of the samples are clipped\n");
    const wh_run_summary nothing = {.inputs = 1};
    check(&nothing, 1, "1 input, 0.0 s of signal\n0 bursts heard, 0 decoded, 0 readings\n");
}

static void test_safety(void **state)
{
    (void)state;
    wh_text text = {0};
    wh_safety_text(&text);
    /* 29 CFR 1910.177: at 80 % or less of the recommended pressure, completely deflate and demount before inflating. */
    assert_non_null(strstr(text.data, "80 %"));
    assert_non_null(strstr(text.data, "deflate"));
    assert_non_null(strstr(text.data, "29 CFR 1910.177"));
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_full),
        cmocka_unit_test(test_small),
        cmocka_unit_test(test_safety),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
