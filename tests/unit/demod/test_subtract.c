/* A transmission whose chips are known goes out of the samples; what it hid stays and can be received. */
#include "subtract.h"

#include "demodulated.h"

#include <string.h>

static const wh_radio radio = {WH_MOD_FSK, 20e3, 0.05, 40e3, 0.15, false};

static burst strong_burst(void)
{
    burst b = {.radio = radio, .rate_hz = 400e3, .carrier_hz = -30e3, .snr_db = 30.0, .start = 15.3};
    burst_fill(&b, 200, 11);
    return b;
}

/* 20 dB weaker, 100 kHz beside: its lower tone lies one chip rate from the other's upper one. */
static burst hidden_burst(void)
{
    burst b = {.radio = radio, .rate_hz = 400e3, .carrier_hz = 70e3, .snr_db = 14.0, .start = 40.7};
    burst_fill(&b, 200, 12);
    return b;
}

static double power(const float complex *samples, size_t from, size_t to)
{
    double sum = 0.0;
    for (size_t i = from; i < to; i++)
        sum += (double)(crealf(samples[i]) * crealf(samples[i]) + cimagf(samples[i]) * cimagf(samples[i]));
    return sum / (double)(to - from);
}

typedef struct taken {
    wh_demod *demod;
    const burst *b; /* the one to take out */
    bool understood;
    wh_known_wave wave;
} taken;

static void understand(void *context, const wh_chips *chips)
{
    taken *t = context;
    if (fabs(chips->carrier_hz - t->b->carrier_hz) > 5e3 || t->understood)
        return;
    t->understood = true;
    const double hz[2] = {chips->carrier_hz - chips->deviation_hz, chips->carrier_hz + chips->deviation_hz};
    wh_known_wave_of(chips, hz, t->b->rate_hz, &t->wave);
    wh_demod_understood(t->demod, &radio, NULL, chips, false);
}

static wh_baseband baseband_of(const float *iq, size_t samples)
{
    return (wh_baseband){(const float complex *)(const void *)iq, samples, 400e3, NOISE / 400e3, 150e3, 0.0};
}

/* Of a burst 30 dB over the noise (in a chip rate's band; 17 dB over that of all samples) at least 13 dB go. */
static void test_what_is_left(void **state)
{
    (void)state;
    const burst b = strong_burst();
    size_t samples;
    float *iq = burst_air(&b, 30.0, &samples);
    taken t = {.demod = wh_demod_create(), .b = &b};
    const wh_baseband baseband = baseband_of(iq, samples);
    const wh_demod_limits limits = {.shortest_chips = 100, .zero_run = 2};
    assert_int_equal(wh_demod_load(t.demod, &baseband), WH_DEMOD_OK);
    assert_int_equal(wh_demod_run(t.demod, &radio, &limits, understand, &t), WH_DEMOD_OK);
    assert_true(t.understood);
    float complex *left = malloc(samples * sizeof *left);
    assert_non_null(left);
    memcpy(left, iq, samples * sizeof *left);
    wh_subtract(left, samples, &t.wave);
    const size_t from = (size_t)(20.0 * 20.0), to = (size_t)(210.0 * 20.0);
    const double before = power(baseband.samples, from, to) - NOISE, after = power(left, from, to);
    assert_true(after < NOISE + 0.05 * before);
    /* Nothing is touched where it is not on the air. */
    assert_memory_equal(left, iq, (size_t)(14.0 * 20.0) * sizeof *left);
    /* Looked past, there is nothing else. */
    assert_false(wh_demod_look_past(t.demod, &radio, b.carrier_hz));
    wh_demod_destroy(&t.demod);
    free(left);
    free(iq);
}

/* The hidden one is not received before; after, one chip in twenty may be wrong by what remains of the strong one, which a line code
 * makes good. */
static void test_hidden_neighbour(void **state)
{
    (void)state;
    const burst strong = strong_burst(), hidden = hidden_burst();
    size_t samples, more;
    float *iq = burst_air(&strong, 60.0, &samples), *other = burst_air(&hidden, 60.0, &more);
    for (size_t i = 0; i < 2 * samples && i < 2 * more; i++)
        iq[i] += other[i];
    taken t = {.demod = wh_demod_create(), .b = &strong};
    const wh_baseband baseband = baseband_of(iq, samples);
    const wh_demod_limits limits = {.shortest_chips = 100, .zero_run = 2};
    assert_int_equal(wh_demod_load(t.demod, &baseband), WH_DEMOD_OK);
    assert_int_equal(wh_demod_run(t.demod, &radio, &limits, understand, &t), WH_DEMOD_OK);
    assert_true(t.understood);
    told before = {.b = &hidden};
    wh_demod_run(t.demod, &radio, &limits, told_take, &before);
    assert_true(!before.any || before.wrong > 20);
    assert_true(wh_demod_look_past(t.demod, &radio, strong.carrier_hz));
    told after = {.b = &hidden};
    assert_int_equal(wh_demod_run(t.demod, &radio, &limits, told_take, &after), WH_DEMOD_OK);
    assert_true(after.any);
    assert_true(after.wrong <= 10);
    assert_near(after.carrier_hz, hidden.carrier_hz, 1500.0);
    /* Another burst is another matter: nothing of this one is taken out of it. */
    assert_int_equal(wh_demod_load(t.demod, &baseband), WH_DEMOD_OK);
    told again = {.b = &strong};
    assert_int_equal(wh_demod_run(t.demod, &radio, &limits, told_take, &again), WH_DEMOD_OK);
    assert_true(again.any);
    assert_int_equal(again.wrong, 0);
    wh_demod_destroy(&t.demod);
    free(iq);
    free(other);
}

/* Waves that reach beyond the samples on either side, empty ones, chips shorter than a sample. */
static void test_edges(void **state)
{
    (void)state;
    float complex samples[100];
    for (size_t i = 0; i < 100; i++)
        samples[i] = 1.0f;
    static wh_known_wave wave;
    wave = (wh_known_wave){.start = -55.5, .chip = 10.0, .count = 40};
    memset(wave.value, 1, sizeof wave.value);
    wh_subtract(samples, 100, &wave);
    assert_true(power(samples, 5, 100) < 1e-9); /* frequency 0, and a steady 1 is all there was */
    wave = (wh_known_wave){.start = 3.0, .chip = 0.3, .count = 1000};
    wh_subtract(samples, 100, &wave);
    wave = (wh_known_wave){.start = 3.0, .chip = 10.0, .count = 0};
    wh_subtract(samples, 0, &wave);
    for (size_t i = 0; i < 100; i++)
        assert_true(isfinite(crealf(samples[i])) && isfinite(cimagf(samples[i])));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_left),
        cmocka_unit_test(test_hidden_neighbour),
        cmocka_unit_test(test_edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
