/* Which radios a burst's looks exclude: never its own, whatever the level; others when it is strong. And what was decoded serves
 * others alike. */
#include "demodulated.h"

static wh_radio radio_of(double chip_rate_hz, double deviation_hz)
{
    return (wh_radio){.modulation = deviation_hz > 0.0 ? WH_MOD_FSK : WH_MOD_OOK,
                      .chip_rate_hz = chip_rate_hz,
                      .rate_tolerance = 0.05,
                      .deviation_hz = deviation_hz,
                      .deviation_tolerance = 0.25};
}

static wh_demod *loaded(const burst *b, float **iq)
{
    size_t samples;
    *iq = burst_air(b, 40.0, &samples);
    wh_demod *demod = wh_demod_create();
    assert_non_null(demod);
    const wh_baseband baseband = {
        (const float complex *)(const void *)*iq, samples, b->rate_hz, NOISE / b->rate_hz, burst_half_width(b), 0.0};
    assert_int_equal(wh_demod_load(demod, &baseband), WH_DEMOD_OK);
    return demod;
}

static const struct {
    double rate_hz, deviation_hz;
} kinds[] = {{50e3, 50e3}, {38.4e3, 50e3}, {20e3, 40e3}, {20e3, 20e3}, {19.2e3, 35e3}, {16e3, 8e3},
             {4e3, 30e3},  {10e3, 0.0},    {8e3, 0.0},   {4e3, 0.0},   {2e3, 0.0}};
#define KINDS (sizeof kinds / sizeof kinds[0])

static burst burst_of(size_t kind, double snr_db, uint64_t seed)
{
    burst b = {.radio = radio_of(kinds[kind].rate_hz, kinds[kind].deviation_hz),
               .rate_hz = seed % 3 ? 400e3 : 512e3,
               .carrier_hz = -12e3,
               .rate_error = 0.045 * ((double)(seed % 5) - 2.0) / 2.0,
               .deviation_error = kinds[kind].deviation_hz > 0.0 ? 0.2 * ((double)(seed % 7) - 3.0) / 3.0 : 0.0,
               .snr_db = snr_db,
               .start = 37.3};
    burst_fill(&b, 180, seed);
    return b;
}

static void test_own_radio_is_never_excluded(void **state)
{
    (void)state;
    for (size_t k = 0; k < KINDS; k++)
        for (int snr = 2; snr <= 32; snr += 2)
            for (uint64_t seed = 1; seed <= 7; seed++) {
                const burst b = burst_of(k, snr, 100 * k + seed);
                float *iq;
                wh_demod *demod = loaded(&b, &iq);
                if (wh_demod_excludes(demod, &b.radio))
                    print_message("kind %zu, %d dB, seed %d\n", k, snr, (int)seed);
                assert_false(wh_demod_excludes(demod, &b.radio));
                wh_demod_destroy(&demod);
                free(iq);
            }
}

/* Undecimated recordings: the tones may be more than half the sample rate apart, where a phase step from one to the other goes round. */
static void test_tones_wider_than_half_the_rate(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        burst b = {
            .radio = radio_of(14.8e3, 60e3), .rate_hz = 250e3, .carrier_hz = 15e3, .snr_db = 20.0, .start = 37.3};
        b.deviation_error = 0.12 * ((double)(seed % 5) - 2.0) / 2.0;
        burst_fill(&b, 180, seed);
        float *iq;
        wh_demod *demod = loaded(&b, &iq);
        assert_false(wh_demod_excludes(demod, &b.radio));
        wh_demod_destroy(&demod);
        free(iq);
    }
}

/* A ray that nearly cancels one of two tones leaves what looks like on-off keying. */
static void test_a_lost_tone_excludes_no_one(void **state)
{
    (void)state;
    for (int snr = 14; snr <= 30; snr += 4)
        for (uint64_t seed = 1; seed <= 5; seed++) {
            const burst b = burst_of(2, snr, seed);
            size_t samples;
            float *iq = burst_air(&b, 40.0, &samples);
            /* Five samples late and 3 dB down: dips at 80 kHz from each other, one of them on a tone. */
            float complex *x = (float complex *)(void *)iq;
            const float complex turn = cexpf(-I * (float)(2.0 * M_PI * (b.carrier_hz + 40e3) / b.rate_hz * 5.0));
            for (size_t i = samples; i-- > 5;)
                x[i] -= 0.7f * conjf(turn) * x[i - 5];
            wh_demod *demod = wh_demod_create();
            const wh_baseband baseband = {x, samples, b.rate_hz, 1.5 * NOISE / b.rate_hz, burst_half_width(&b), 0.0};
            assert_int_equal(wh_demod_load(demod, &baseband), WH_DEMOD_OK);
            assert_false(wh_demod_excludes(demod, &b.radio));
            wh_demod_destroy(&demod);
            free(iq);
        }
}

/* At 24 dB a chip other rates, other deviations and the other modulation are out, and no second transmitter is suspected. */
static void test_strangers_are_excluded(void **state)
{
    (void)state;
    for (size_t k = 0; k < KINDS; k++) {
        if (kinds[k].rate_hz < 8e3) /* too few edges to be sure */
            continue;
        const burst b = burst_of(k, 24.0, 3);
        float *iq;
        wh_demod *demod = loaded(&b, &iq);
        const double rate = burst_chip_rate(&b), deviation = b.radio.deviation_hz * (1.0 + b.deviation_error);
        const wh_radio slower = radio_of(rate / 1.3, deviation), faster = radio_of(rate * 1.3, deviation);
        const wh_radio keyed = radio_of(rate, 0.0), far = radio_of(rate, 2.5 * deviation);
        assert_true(wh_demod_excludes(demod, &slower));
        assert_true(wh_demod_excludes(demod, &faster));
        if (deviation > 0.0) {
            assert_true(wh_demod_excludes(demod, &keyed));
            assert_true(wh_demod_excludes(demod, &far));
        }
        assert_false(wh_demod_look_wider(demod, &b.radio)); /* alone */
        assert_false(wh_demod_excludes(demod, &slower));    /* but nothing is excluded any more */
        wh_demod_destroy(&demod);
        free(iq);
    }
}

typedef struct decoder {
    told told;
    wh_demod *demod;
    const wh_radio *radio;
    bool sure;
} decoder;

static const wh_demod_limits limits = {.shortest_chips = 90, .zero_run = 2};

static void decode(void *context, const wh_chips *chips)
{
    decoder *d = context;
    told_take(&d->told, chips);
    wh_demod_understood(d->demod, d->radio, &limits, chips, d->sure);
}

/* The chips of an emission that was decoded beyond doubt are those that a neighbouring radio would have made itself; a radio in whose
 * window they do not lie is excluded, whatever the level. */
static void test_what_is_decoded_serves_all(void **state)
{
    (void)state;
    for (int snr = 11; snr <= 20; snr += 9) {
        const burst b = burst_of(2, snr, 8);
        float *iq;
        wh_demod *demod = loaded(&b, &iq);
        wh_radio near = b.radio, far = b.radio;
        near.chip_rate_hz *= 1.01;
        near.deviation_hz *= 1.05;
        near.low_tone_is_one = true;
        far.chip_rate_hz *= 1.12;
        burst turned = b;
        for (size_t i = 0; i < b.count; i++)
            turned.chips[i] = !b.chips[i];
        decoder own = {{.b = &b}, demod, &b.radio, false}, other = {{.b = &turned}, demod, &near, false};
        assert_int_equal(wh_demod_run(demod, &b.radio, &limits, decode, &own), WH_DEMOD_OK);
        assert_int_equal(wh_demod_run(demod, &near, &limits, decode, &other), WH_DEMOD_OK);
        assert_true(own.told.any && other.told.any);
        assert_false(own.told.carrier_hz == other.told.carrier_hz); /* each looked for itself */
        own.sure = true;
        assert_int_equal(wh_demod_run(demod, &b.radio, &limits, decode, &own), WH_DEMOD_OK);
        other.told = (told){.b = &turned};
        assert_int_equal(wh_demod_run(demod, &near, &limits, decode, &other), WH_DEMOD_OK);
        assert_true(own.told.any && other.told.any);
        assert_true(own.told.wrong <= 2 && other.told.wrong == own.told.wrong);
        assert_true(own.told.carrier_hz == other.told.carrier_hz); /* the same chips */
        assert_near(other.told.rate_error, own.told.rate_error - 0.01, 5e-4);
        assert_true(wh_demod_excludes(demod, &far));
        told again = {.b = &b}; /* and turning them over left nothing behind */
        assert_int_equal(wh_demod_run(demod, &b.radio, &limits, told_take, &again), WH_DEMOD_OK);
        assert_int_equal(again.wrong, own.told.wrong);
        assert_true(again.any && again.rate_error == own.told.rate_error);
        wh_demod_destroy(&demod);
        free(iq);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_own_radio_is_never_excluded), cmocka_unit_test(test_tones_wider_than_half_the_rate),
        cmocka_unit_test(test_a_lost_tone_excludes_no_one), cmocka_unit_test(test_strangers_are_excluded),
        cmocka_unit_test(test_what_is_decoded_serves_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
