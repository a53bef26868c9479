#include "reading_changes.h"
#include "stage_counts.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static wh_burst burst(uint64_t number, wh_stage stage, wh_reason reason)
{
    return (wh_burst){
        .number = number, .offset_s = 1.5, .carrier_hz = 433.92e6, .snr_db = 12.34, .stage = stage, .reason = reason};
}

static void test_counts(void **state)
{
    (void)state;
    wh_stage_counts counts = {.readings = 1};
    const wh_burst bursts[] = {
        burst(0, WH_STAGE_DETECT, WH_REASON_STEADY_CARRIER), burst(1, WH_STAGE_PROTOCOL, WH_REASON_BAD_CHECK),
        burst(2, WH_STAGE_READING, WH_REASON_DECODED), burst(3, WH_STAGE_PROTOCOL, WH_REASON_BAD_CHECK)};
    for (size_t i = 0; i < 4; i++)
        wh_stage_counts_burst(&counts, &bursts[i]);
    const wh_attempt attempt = {.burst_number = 3,
                                .stage = WH_STAGE_PROTOCOL,
                                .reason = WH_REASON_BAD_CHECK,
                                .detail = "check 1 is 12, must be 34"};
    const wh_attempt unknown = {.burst_number = 9, .detail = "nobody's"};
    wh_stage_counts_attempt(&counts, &attempt);
    wh_stage_counts_attempt(&counts, &unknown);
    wh_text text = {0};
    wh_stage_counts_text(&counts, "kind", &text);
    assert_string_equal(text.data, "kind\n"
                                   "stage      reached    lost  why\n"
                                   "detect           4       1  1 steady-carrier\n"
                                   "demod            3       0  \n"
                                   "line             3       0  \n"
                                   "frame            3       0  \n"
                                   "protocol         3       2  2 bad-check\n"
                                   "reading          1       0  \n"
                                   "1 of 4 bursts decoded, 1 reading\n"
                                   "burst 0, 1.5000 s, 433.9200 MHz, 12.3 dB: lost at detect: steady-carrier\n"
                                   "burst 1, 1.5000 s, 433.9200 MHz, 12.3 dB: lost at protocol: bad-check\n"
                                   "burst 3, 1.5000 s, 433.9200 MHz, 12.3 dB: lost at protocol: bad-check: check 1 is "
                                   "12, must be 34\n");
    wh_text_clear(&text);
    for (uint64_t i = 0; i < WH_LOST_BURSTS_MAX; i++) {
        const wh_burst more = burst(10 + i, WH_STAGE_FRAME, WH_REASON_NO_SYNC);
        wh_stage_counts_burst(&counts, &more);
    }
    wh_stage_counts_text(&counts, "kind", &text);
    assert_non_null(strstr(text.data, "\nand 3 more\n"));
    wh_text_free(&text);
    wh_stage_counts_free(&counts);
}

static void add(wh_reading_list *list, double at, const char *descriptor, const char *sensor)
{
    wh_reading reading = {.offset_s = at, .confidence = 0.9};
    snprintf(reading.descriptor, sizeof reading.descriptor, "%s", descriptor);
    snprintf(reading.sensor, sizeof reading.sensor, "%s", sensor);
    wh_reading_list_take(list, &reading);
}

static void test_changes(void **state)
{
    (void)state;
    wh_reading_list before = {0}, after = {0};
    wh_text text = {0};
    add(&before, 1.0, "old", "AA");
    add(&before, 2.0, "old", "BB");
    add(&before, 3.0, "old", "CC");
    add(&after, 1.01, "old", "AA"); /* the same: within 20 ms */
    add(&after, 2.0, "new", "77");
    add(&after, 3.03, "old", "CC"); /* another */
    add(&after, 9.0, "new", "88");
    assert_int_equal(wh_reading_changes_text(&before, &after, "new", &text), 2);
    assert_string_equal(text.data, "  2.000 s: BB of old (confidence 0.900) is gone; 77 of new (0.900) won\n"
                                   "  3.000 s: CC of old (confidence 0.900) is gone\n"
                                   "  3 before, 4 with new, 2 of them by it, 2 gone\n");
    wh_text_free(&text);
    wh_reading_list_free(&before);
    wh_reading_list_free(&after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_counts), cmocka_unit_test(test_changes)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
