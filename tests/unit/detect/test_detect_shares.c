/* How many of many bursts are outlined as they should be: what depends on the noise cannot be asked of a single one. Each test says
 * which share must at least be right, and fails only when so few were that this share is hardly possible any more. */
#include "outlines.h"

#define NOISE 1e-4
#define RATE  250e3

/* The fewest of `count` that can be right when a share of `least` is: below with a probability under 1e-4, from the normal limit of
 * the binomial distribution with the correction for continuity. */
static size_t fewest(size_t count, double least)
{
    const double mean = least * (double)count, sigma = sqrt(mean * (1.0 - least));
    return (size_t)fmax(0.0, floor(mean - 3.72 * sigma - 0.5));
}

static void assert_share(size_t right, size_t count, double least, const char *what)
{
    if (right < fewest(count, least))
        print_error("%s: %zu of %zu, at least %zu with a share of %.2f\n", what, right, count, fewest(count, least),
                    least);
    assert_true(right >= fewest(count, least));
}

typedef struct scene {
    double rate_hz;
    size_t samples;
    float *iq;
} scene;

static scene new_scene(double rate_hz, double seconds, uint64_t seed)
{
    scene s = {.rate_hz = rate_hz, .samples = (size_t)(seconds * rate_hz)};
    s.iq = air_silence(s.samples);
    air_noise(s.iq, s.samples, NOISE, seed);
    return s;
}

static outlines look(scene *s)
{
    const wh_detector_config config = outlines_config(s->rate_hz);
    const outlines all = outlines_of(&config, s->iq, s->samples, 4096);
    free(s->iq);
    return all;
}

/* One outline that fits, and nothing else but splinters of it. */
static bool is_explained(const outlines *all, const sent_burst *b, double rate_hz)
{
    const wh_outline *fit = NULL;
    for (size_t i = 0; i < all->count && !fit; i++)
        fit = outlines_fits(&all->item[i], b, rate_hz) ? &all->item[i] : NULL;
    bool explained = fit != NULL;
    for (size_t i = 0; i < all->count && explained; i++)
        explained = &all->item[i] == fit || outlines_splinter(&all->item[i], b, rate_hz, fit->power);
    return explained;
}

/* Two tones that no single slot shows: one outline with both, whatever the noise. */
static void test_weak_tone_pairs(void **state)
{
    (void)state;
    static const double lengths[] = {4e-3, 10e-3, 40e-3, 150e-3};
    size_t right = 0, count = 0;
    for (size_t l = 0; l < 4; l++)
        for (uint64_t seed = 0; seed < 40; seed++) {
            const sent_burst b = {0.3 + 1e-4 * (double)seed, lengths[l], -30e3, 40e3, 20e3, 5.0};
            scene s = new_scene(RATE, 0.6, 500 + seed);
            outlines_add(s.iq, s.samples, RATE, NOISE, &b);
            const outlines all = look(&s);
            right += is_explained(&all, &b, RATE);
            count++;
        }
    assert_share(right, count, 0.97, "weak tone pairs in one outline");
}

/* A third or two thirds of every bit on, at 2 kchip/s: half a millisecond a chip, near where single slots show it no more. */
static void test_slow_keying_stays_whole(void **state)
{
    (void)state;
    enum { BITS = 70 };
    static const struct {
        double snr_db, least;
    } levels[] = {{8.5, 0.80}, {10.5, 0.95}, {14.5, 0.97}, {20.0, 0.97}};
    for (size_t l = 0; l < 4; l++) {
        size_t right = 0;
        for (uint64_t seed = 0; seed < 30; seed++) {
            uint8_t bits[BITS], chips[3 * BITS];
            air_random_chips(bits, BITS, 900 + seed);
            for (size_t i = 0; i < BITS; i++) {
                chips[3 * i] = 1;
                chips[3 * i + 1] = bits[i];
                chips[3 * i + 2] = 0;
            }
            scene s = new_scene(RATE, 0.6, 700 + seed);
            const double start_s = 0.31 + 1e-4 * (double)seed;
            const air_keying keying = {RATE, 2e3, start_s * RATE,
                                       31e3, 0.0, air_amplitude(levels[l].snr_db, 2e3, NOISE, RATE)};
            const double end = air_keyed(s.iq, s.samples, &keying, chips, 3 * BITS - 2);
            const outlines all = look(&s);
            bool whole = false;
            for (size_t i = 0; i < all.count; i++)
                whole |= (double)all.item[i].start <= start_s * RATE && (double)all.item[i].end >= end;
            right += whole && all.count == 1;
        }
        assert_share(right, 30, levels[l].least, "slow keying in one piece");
    }
}

/* What abrupt keying spreads far beyond its band is no emission. */
static void test_strong_bursts_do_not_splinter(void **state)
{
    (void)state;
    const double rate = 1024e3;
    static const struct {
        double deviation_hz, snr_db, least;
    } kinds[] = {{40e3, 30.0, 0.95}, {40e3, 40.0, 0.95}, {0.0, 30.0, 0.85}};
    for (size_t k = 0; k < 3; k++) {
        size_t alone = 0;
        for (uint64_t seed = 0; seed < 20; seed++) {
            const sent_burst b = {0.3 + 1e-4 * (double)seed, 10e-3, -90e3 + 1e3 * (double)seed,
                                  kinds[k].deviation_hz,     20e3,  kinds[k].snr_db};
            scene s = new_scene(rate, 0.35, 300 + seed);
            outlines_add(s.iq, s.samples, rate, NOISE, &b);
            const outlines all = look(&s);
            alone += all.count == 1 && outlines_fits(&all.item[0], &b, rate);
        }
        assert_share(alone, 20, kinds[k].least, "strong bursts with one outline each");
    }
}

/* But a weak sensor beside a strong one is: 25 dB below it, 150 kHz off, at about the same time. Some outline holds the whole of it. */
static void test_weak_neighbour_is_kept(void **state)
{
    (void)state;
    const double rate = 1024e3;
    for (int keyed = 0; keyed < 2; keyed++) {
        size_t right = 0;
        for (uint64_t seed = 0; seed < 40; seed++) {
            const double deviation_hz = keyed ? 0.0 : 40e3, side = seed % 2 ? 1.0 : -1.0;
            const double late_s = 0.4e-3 * ((double)seed - 20.0);
            const sent_burst weak = {0.31, 10e-3, 10e3, deviation_hz, 20e3, 10.0};
            const sent_burst strong = {0.31 + late_s, 10e-3, 10e3 + side * 150e3, deviation_hz, 20e3, 35.0};
            scene s = new_scene(rate, 0.36, 400 + seed);
            outlines_add(s.iq, s.samples, rate, NOISE, &weak);
            outlines_add(s.iq, s.samples, rate, NOISE, &strong);
            const outlines all = look(&s);
            bool held = false;
            for (size_t i = 0; i < all.count; i++) {
                const wh_outline *o = &all.item[i];
                held |= (double)o->start <= weak.start_s * rate &&
                        (double)o->end >= (weak.start_s + weak.length_s) * rate &&
                        fabs(o->centre_hz - weak.carrier_hz) < 0.5 * o->width_hz + 2.0 * deviation_hz;
            }
            right += held;
        }
        assert_share(right, 40, 0.95, keyed ? "weak keyed neighbours held" : "weak neighbours with two tones held");
    }
}

/* Pulses of an engine, 20 us and thirty times as strong as a frame: what holds for three slots is the frame's, and of theirs nothing. */
static void test_pulses_hold_nothing(void **state)
{
    (void)state;
    const double rate_hz = 1.024e6, noise = 1e-3;
    const size_t samples = (size_t)(1.2 * rate_hz);
    float *iq = air_silence(samples);
    air_noise(iq, samples, noise, 8);
    const sent_burst frame = {0.9, 0.012, 40e3, 40e3, 20e3, 12.0};
    const double amplitude = outlines_add(iq, samples, rate_hz, noise, &frame);
    for (double at_s = 0.41; at_s < 0.8; at_s += 0.06)
        air_tone(iq, (size_t)(at_s * rate_hz), (size_t)((at_s + 20e-6) * rate_hz), rate_hz, 10e3, 30.0 * amplitude);
    const wh_detector_config config = outlines_config(rate_hz);
    const outlines all = outlines_of(&config, iq, samples, 4096);
    double pulses_db = -INFINITY, frame_db = -INFINITY, strongest_db = -INFINITY;
    for (size_t i = 0; i < all.count; i++) {
        const wh_outline *o = &all.item[i];
        const bool is_frame = (double)o->start / rate_hz > 0.85;
        frame_db = is_frame ? fmax(frame_db, o->held_db) : frame_db;
        pulses_db = is_frame ? pulses_db : fmax(pulses_db, o->held_db);
        strongest_db = is_frame ? strongest_db : fmax(strongest_db, o->snr_db);
    }
    print_message("held: the frame %.1f dB, pulses %.1f dB at most of %.1f\n", frame_db, pulses_db, strongest_db);
    assert_true(strongest_db > 10.0);
    assert_true(frame_db > pulses_db + 3.0);
    free(iq);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weak_tone_pairs),
        cmocka_unit_test(test_slow_keying_stays_whole),
        cmocka_unit_test(test_strong_bursts_do_not_splinter),
        cmocka_unit_test(test_weak_neighbour_is_kept),
        cmocka_unit_test(test_pulses_hold_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
