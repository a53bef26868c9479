#include "history.h"

#include "../near.h"

/* Sample n has I = n + 1, Q = -(n + 1) in 16 bit: 0 can only mean "not there". */
static void append(wh_history *history, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const int16_t value = (int16_t)(history->end + 1);
        const uint16_t i_bits = (uint16_t)value, q_bits = (uint16_t)-value;
        const unsigned char sample[4] = {(unsigned char)i_bits, (unsigned char)(i_bits >> 8), (unsigned char)q_bits,
                                         (unsigned char)(q_bits >> 8)};
        wh_history_append(history, sample, 1);
    }
}

/* Any window: what is held comes back, what is not yet, no more or never there is 0. */
static void test_windows(void **state)
{
    (void)state;
    wh_history history;
    assert_true(wh_history_init(&history, WH_IQ_CI16, 100));
    size_t all = 0;
    for (int step = 0; step < 12; step++) {
        append(&history, 37);
        all += 37;
        for (int64_t first = -30; first < (int64_t)all + 30; first += 11)
            for (size_t count = 0; count <= 160; count += 23) {
                float out[2 * 160];
                wh_history_read(&history, first, count, out);
                for (size_t i = 0; i < count; i++) {
                    const int64_t n = first + (int64_t)i;
                    const bool held = n >= 0 && n < (int64_t)all && n + 100 >= (int64_t)all;
                    const double value = held ? (double)(n + 1) / 32768.0 : 0.0;
                    assert_near((double)out[2 * i], value, 1e-9);
                    assert_near((double)out[2 * i + 1], -value, 1e-9);
                }
            }
    }
    wh_history_free(&history);
    assert_null(history.bytes);
}

/* One append longer than all that is kept leaves its last part. */
static void test_long_append(void **state)
{
    (void)state;
    wh_history history;
    assert_true(wh_history_init(&history, WH_IQ_CI8, 10));
    unsigned char samples[2 * 64];
    for (size_t i = 0; i < 64; i++)
        samples[2 * i] = samples[2 * i + 1] = (unsigned char)(i + 1);
    wh_history_append(&history, samples, 64);
    assert_int_equal(history.end, 64);
    float out[2 * 64];
    wh_history_read(&history, 0, 64, out);
    for (size_t i = 0; i < 64; i++)
        assert_near((double)out[2 * i], i >= 54 ? (double)(i + 1) / 128.0 : 0.0, 1e-9);
    wh_history_free(&history);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_windows),
        cmocka_unit_test(test_long_append),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
