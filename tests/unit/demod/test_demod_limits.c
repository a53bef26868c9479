/* Emissions with pauses, and what is no signal of the radio asked for. */
#include "demodulated.h"

static const wh_radio fsk_radio = {.modulation = WH_MOD_FSK,
                                   .chip_rate_hz = 20e3,
                                   .rate_tolerance = 0.05,
                                   .deviation_hz = 40e3,
                                   .deviation_tolerance = 0.25};
static const wh_radio ook_radio = {.modulation = WH_MOD_OOK, .chip_rate_hz = 10e3, .rate_tolerance = 0.05};

typedef struct train {
    size_t heard;
    double last_s;
    double start_s[64];
    const burst *b;
} train;

/* Every place where a given emission holds the burst's chips without an error; one emission may bridge short pauses. */
static void take_train(void *context, const wh_chips *chips)
{
    train *t = context;
    assert_sound(chips);
    for (size_t at = 0; at + t->b->count <= chips->count; at++) {
        size_t wrong = 0;
        for (size_t i = 0; i < t->b->count && wrong == 0; i++)
            wrong += (chips->llr[at + i] > 0.0f) != (t->b->chips[i] == 1);
        if (wrong > 0 || t->heard == 64)
            continue;
        t->start_s[t->heard++] = chips->start_s + chips->chip_s * (double)at;
    }
}

/* Four copies in one burst, silent for `pause` chips between them: each is there, in order of time. */
static void assert_train(const wh_radio *radio, double pause)
{
    burst b = {.radio = *radio, .rate_hz = 400e3, .snr_db = 20.0, .start = 20.0};
    burst_fill(&b, 160, 12);
    const double chip = b.rate_hz / radio->chip_rate_hz, period = (double)b.count + pause;
    const size_t samples = (size_t)(chip * (40.0 + 4.0 * period));
    float *iq = air_silence(samples);
    for (int i = 0; i < 4; i++) {
        const air_keying keying = {
            b.rate_hz, radio->chip_rate_hz, chip * (20.0 + period * i),
            3e3,       radio->deviation_hz, air_amplitude(b.snr_db, radio->chip_rate_hz, NOISE, b.rate_hz)};
        air_keyed(iq, samples, &keying, b.chips, b.count);
    }
    air_noise(iq, samples, NOISE, 8);
    train t = {.b = &b};
    assert_int_equal(demod_samples(iq, samples, &b, burst_half_width(&b), take_train, &t), WH_DEMOD_OK);
    free(iq);
    for (int i = 0; i < 4; i++) {
        size_t fitting = 0;
        for (size_t k = 0; k < t.heard; k++)
            fitting += fabs(t.start_s[k] * radio->chip_rate_hz - (20.0 + period * i)) < 0.2;
        if (fitting < 1)
            print_error("copy %d with pauses of %g chips is missing among %zu\n", i, pause, t.heard);
        assert_true(fitting >= 1);
    }
    for (size_t k = 1; k < t.heard && k < 4; k++)
        assert_true(t.start_s[k] > t.start_s[k - 1]);
}

static void test_pauses(void **state)
{
    (void)state;
    assert_train(&fsk_radio, 20.0);
    assert_train(&fsk_radio, 100.0);
    assert_train(&fsk_radio, 333.3);
    assert_train(&ook_radio, 40.0);
    assert_train(&ook_radio, 200.5);
}

/* Noise alone, at the level that the detector tells: whatever comes of it is sound, and says how weak it is. */
static void take_noise(void *context, const wh_chips *chips)
{
    size_t *count = context;
    assert_sound(chips);
    assert_true(chips->snr_db < 10.0);
    ++*count;
}

static void test_noise(void **state)
{
    (void)state;
    for (uint64_t seed = 0; seed < 30; seed++) {
        const size_t samples = 2000 + 300 * seed;
        float *iq = air_silence(samples);
        air_noise(iq, samples, NOISE, seed);
        for (int keyed = 0; keyed < 2; keyed++) {
            burst b = {.radio = keyed ? ook_radio : fsk_radio, .rate_hz = 400e3};
            size_t given = 0;
            const wh_demod_verdict verdict = demod_samples(iq, samples, &b, 100e3, take_noise, &given);
            assert_int_equal(verdict == WH_DEMOD_OK, given > 0);
        }
        free(iq);
    }
}

static void never(void *context, const wh_chips *chips)
{
    (void)context;
    (void)chips;
    fail();
}

/* One tone, steady or keyed, is no frequency-shift keying: its partner is missing. */
static void test_one_tone(void **state)
{
    (void)state;
    const size_t samples = 8000;
    float *iq = air_silence(samples);
    air_noise(iq, samples, NOISE, 3);
    air_tone(iq, 0, samples, 400e3, 40e3, 0.3);
    burst b = {.radio = fsk_radio, .rate_hz = 400e3};
    burst_fill(&b, 160, 1);
    const wh_demod_verdict steady = demod_samples(iq, samples, &b, 60e3, never, NULL);
    assert_true(steady == WH_DEMOD_WRONG_MODULATION || steady == WH_DEMOD_NO_SIGNAL);
    free(iq);
}

/* Right modulation, right tones, but a chip rate that no tolerance covers: that is what must be told. */
static void test_other_rate(void **state)
{
    (void)state;
    const wh_radio *const radios[] = {&fsk_radio, &ook_radio};
    for (unsigned r = 0; r < 2; r++)
        for (int faster = 0; faster < 2; faster++) {
            burst b = {.radio = *radios[r],
                       .rate_hz = 400e3,
                       .snr_db = 25.0,
                       .start = 15.0,
                       .rate_error = faster ? 0.31 : -0.27};
            burst_fill(&b, 320, 5);
            size_t samples;
            float *iq = burst_air(&b, 30.0, &samples);
            assert_int_equal(demod_samples(iq, samples, &b, burst_half_width(&b), never, NULL), WH_DEMOD_NO_CLOCK);
            free(iq);
        }
}

/* Hardly any samples, none at all, a burst far too short for the frames asked for, silence without any noise. */
static void test_too_little(void **state)
{
    (void)state;
    burst b = {.radio = fsk_radio, .rate_hz = 400e3, .snr_db = 20.0, .start = 15.0};
    burst_fill(&b, 400, 1);
    float *iq = air_silence(20000);
    for (size_t samples = 0; samples < 100; samples += 9) {
        air_noise(iq, samples, NOISE, samples);
        assert_int_not_equal(demod_samples(iq, samples, &b, 60e3, never, NULL), WH_DEMOD_OK);
    }
    memset(iq, 0, 2 * 20000 * sizeof *iq);
    assert_int_not_equal(demod_samples(iq, 20000, &b, 60e3, never, NULL), WH_DEMOD_OK);
    free(iq);
    burst brief = b;
    brief.count = 60; /* less than half of the 200 that limits.shortest_chips will ask for */
    size_t samples;
    iq = burst_air(&brief, 30.0, &samples);
    assert_int_equal(demod_samples(iq, samples, &b, 60e3, never, NULL), WH_DEMOD_TOO_SHORT);
    free(iq);
}

/* One object, many bursts: a load forgets the burst before. */
static void test_reuse(void **state)
{
    (void)state;
    wh_demod *demod = wh_demod_create();
    for (int round = 0; round < 6; round++) {
        burst b = {.radio = round % 2 ? ook_radio : fsk_radio,
                   .rate_hz = round % 3 ? 400e3 : 250e3,
                   .snr_db = 20.0,
                   .start = 15.0};
        burst_fill(&b, round == 4 ? 1200 : 160, (uint64_t)round);
        size_t samples;
        float *iq = burst_air(&b, 30.0, &samples);
        const wh_baseband baseband = {
            (const float complex *)(const void *)iq, samples, b.rate_hz, NOISE / b.rate_hz, burst_half_width(&b), 0.0};
        const wh_demod_limits limits = {.shortest_chips = 80, .zero_run = 2};
        for (int again = 0; again < 2; again++) {
            told t = {.b = &b};
            assert_int_equal(wh_demod_load(demod, &baseband), WH_DEMOD_OK);
            assert_int_equal(wh_demod_run(demod, &b.radio, &limits, told_take, &t), WH_DEMOD_OK);
            assert_true(t.any);
            assert_int_equal(t.wrong, 0);
        }
        free(iq);
    }
    wh_demod_destroy(&demod);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pauses),     cmocka_unit_test(test_noise),      cmocka_unit_test(test_one_tone),
        cmocka_unit_test(test_other_rate), cmocka_unit_test(test_too_little), cmocka_unit_test(test_reuse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
