#include "isolate.h"

#include <string.h>

#include "../air.h"
#include "../near.h"

#define WANTED 480 /* outputs */

static const double rates[] = {225e3, 250e3, 900e3, 1024e3, 2048e3, 2400e3, 3200e3};
#define RATES (sizeof rates / sizeof rates[0])

typedef struct isolated {
    unsigned factor;
    double rate_hz; /* of the outputs */
    float complex out[WANTED];
} isolated;

/* Samples before the first wanted one, for signals that are there all the time. */
static size_t lead(double rate_hz)
{
    wh_isolator *isolator = wh_isolator_create(rate_hz);
    assert_non_null(isolator);
    const size_t margin = wh_isolator_margin(isolator);
    wh_isolator_destroy(&isolator);
    assert_null(isolator);
    return margin;
}

static size_t input_count(double rate_hz)
{
    return 2 * lead(rate_hz) + WANTED * (size_t)fmax(1.0, floor(rate_hz / 400e3));
}

/* Isolate what lies at shift_hz of iq[input_count], in calls of `step` outputs. */
static void run(double rate_hz, double shift_hz, const float *iq, size_t step, isolated *result)
{
    wh_isolator *isolator = wh_isolator_create(rate_hz);
    result->factor = wh_isolator_factor(isolator);
    result->rate_hz = rate_hz / result->factor;
    wh_isolator_begin(isolator, shift_hz);
    const size_t all = input_count(rate_hz) / result->factor;
    float complex *out = malloc((all + 1) * sizeof *out);
    size_t got = 0;
    for (size_t at = 0; at < all; at += step) {
        const size_t count = at + step < all ? step : all - at;
        const float complex *from = (const float complex *)(const void *)iq + at * result->factor;
        const size_t more = wh_isolator_feed(isolator, from, count * result->factor, out + got);
        assert_true(more <= count);
        got += more;
    }
    assert_true(got >= WANTED);
    memcpy(result->out, out, sizeof result->out);
    free(out);
    wh_isolator_destroy(&isolator);
}

static double gain(double rate_hz, double shift_hz, double tone_hz)
{
    const size_t count = input_count(rate_hz);
    float *iq = air_silence(count);
    air_tone(iq, 0, count, rate_hz, tone_hz, 0.5);
    isolated result;
    run(rate_hz, shift_hz, iq, 64, &result);
    free(iq);
    double power = 0.0;
    for (size_t i = 0; i < WANTED; i++)
        power +=
            (double)(crealf(result.out[i]) * crealf(result.out[i]) + cimagf(result.out[i]) * cimagf(result.out[i]));
    return sqrt(power / WANTED) / 0.5;
}

/* The rate is divided by whole numbers and stays at 400 kS/s or above; slower ones stay as they are. */
static void test_factors(void **state)
{
    (void)state;
    static const unsigned factors[RATES] = {1, 1, 2, 2, 5, 6, 8};
    for (size_t r = 0; r < RATES; r++) {
        wh_isolator *isolator = wh_isolator_create(rates[r]);
        assert_non_null(isolator);
        assert_int_equal(wh_isolator_factor(isolator), factors[r]);
        wh_isolator_destroy(&isolator);
    }
    assert_null(wh_isolator_create(0.0));
    assert_null(wh_isolator_create(NAN));
}

/* Amplitudes are kept: to a tenth of a decibel (1.2 %) over the +-130 kHz that the widest sensors fill. */
static void test_flat(void **state)
{
    (void)state;
    static const double shifts[] = {0.0, 61e3, -87654.0};
    for (size_t r = 0; r < RATES; r++) {
        const double reach = fmin(130e3, 0.5 * rates[r]);
        for (size_t s = 0; s < 3; s++)
            for (double hz = -reach; hz <= reach; hz += reach / 4.0)
                assert_near(gain(rates[r], shifts[s], shifts[s] + hz), 1.0, 0.012);
    }
}

/* What would fold onto +-130 kHz is at least 55 dB down. */
static void test_aliases(void **state)
{
    (void)state;
    for (size_t r = 0; r < RATES; r++) {
        wh_isolator *isolator = wh_isolator_create(rates[r]);
        const unsigned factor = wh_isolator_factor(isolator);
        wh_isolator_destroy(&isolator);
        const double rate = rates[r] / factor;
        for (unsigned fold = 1; fold < factor; fold++)
            for (double hz = -130e3; hz <= 130e3; hz += 26e3)
                assert_true(gain(rates[r], 0.0, hz + rate * fold) < 1.8e-3);
    }
}

/* Output i stands for input margin + i * factor: an impulse there peaks at i and is symmetric about it, wherever the burst
 * lies in the band. */
static void test_time_of_impulse(void **state)
{
    (void)state;
    for (size_t r = 0; r < RATES; r++) {
        const size_t count = input_count(rates[r]), margin = lead(rates[r]);
        float *iq = air_silence(count);
        isolated result;
        run(rates[r], 0.0, iq, 64, &result); /* for the factor */
        const size_t at = 100;
        iq[2 * (margin + at * result.factor)] = 1.0f;
        for (double shift = -200e3; shift <= 200e3; shift += 100e3) {
            run(rates[r], shift, iq, 64, &result);
            for (size_t i = 0; i < WANTED; i++)
                assert_true(i == at || cabsf(result.out[i]) < cabsf(result.out[at]));
            for (size_t off = 1; off < 20; off++)
                assert_near((double)cabsf(result.out[at - off]), (double)cabsf(result.out[at + off]), 1e-5);
        }
        free(iq);
    }
}

/* A step at a wanted sample: half is reached there (the sample itself counts as on, so within one input sample). */
static void test_time_of_step(void **state)
{
    (void)state;
    for (size_t r = 0; r < RATES; r++) {
        const size_t count = input_count(rates[r]), margin = lead(rates[r]);
        float *iq = air_silence(count);
        isolated result;
        run(rates[r], 0.0, iq, 64, &result);
        const unsigned factor = result.factor;
        air_tone(iq, margin + 200 * factor, count, rates[r], -50e3, 1.0);
        run(rates[r], -50e3, iq, 64, &result);
        assert_true(cabsf(result.out[199]) < 0.5f);
        assert_true(cabsf(result.out[200]) > 0.5f);
        /* The crossing lies half an input sample before the first one that is on; a straight line between two outputs finds
         * it within a fifth of their distance. */
        const double before = (double)cabsf(result.out[199]), after = (double)cabsf(result.out[200]);
        if (factor > 1)
            assert_near(199.0 + (0.5 - before) / (after - before), 200.0 - 0.5 / factor, 0.2);
        free(iq);
    }
}

/* Frequencies come out where they belong, also at shifts beyond half the rate. */
static void test_shift(void **state)
{
    (void)state;
    for (size_t r = 0; r < RATES; r++) {
        static const double shifts[] = {0.0, 123456.7, -98765.4};
        for (size_t s = 0; s < 3; s++) {
            const size_t count = input_count(rates[r]);
            float *iq = air_silence(count);
            air_tone(iq, 0, count, rates[r], shifts[s] + 10e3, 1.0);
            for (int wrap = -1; wrap <= 1; wrap++) {
                isolated result;
                run(rates[r], shifts[s] + wrap * rates[r], iq, 64, &result);
                double complex turn = 0.0;
                for (size_t i = 0; i + 1 < WANTED; i++)
                    turn += (double complex)(result.out[i + 1] * conjf(result.out[i]));
                assert_near(carg(turn) / AIR_TURN * result.rate_hz, 10e3, 1.0);
            }
            free(iq);
        }
    }
}

/* Any division into calls gives the same outputs, and a burst leaves nothing behind in the next. */
static void test_calls_and_reuse(void **state)
{
    (void)state;
    for (size_t r = 0; r < RATES; r++) {
        const size_t count = input_count(rates[r]);
        float *iq = air_silence(count);
        air_noise(iq, count, 1.0, 17);
        isolated whole, parts;
        run(rates[r], 31e3, iq, WH_ISOLATOR_STEP / 8, &whole);
        static const size_t steps[] = {1, 7, 64};
        for (size_t s = 0; s < 3; s++) {
            run(rates[r], 31e3, iq, steps[s], &parts);
            assert_memory_equal(whole.out, parts.out, sizeof whole.out);
        }
        wh_isolator *isolator = wh_isolator_create(rates[r]);
        float complex *out = malloc(count * sizeof *out);
        for (int round = 0; round < 2; round++) {
            wh_isolator_begin(isolator, 31e3);
            const float complex *in = (const float complex *)(const void *)iq;
            const size_t got = wh_isolator_feed(isolator, in, count / whole.factor * whole.factor, out);
            assert_true(got >= WANTED);
            assert_memory_equal(whole.out, out, sizeof whole.out);
        }
        free(out);
        wh_isolator_destroy(&isolator);
        free(iq);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_factors),         cmocka_unit_test(test_flat),         cmocka_unit_test(test_aliases),
        cmocka_unit_test(test_time_of_impulse), cmocka_unit_test(test_time_of_step), cmocka_unit_test(test_shift),
        cmocka_unit_test(test_calls_and_reuse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
