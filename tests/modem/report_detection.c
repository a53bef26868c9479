/* Bursts that detection misses, by level, and what it hears in noise alone: bursts of 8 ms at 2.4 MS/s anywhere in the band and
 * at any time, in white noise. Usage: report_detection [BURSTS [NOISE_MINUTES [SEED]]] */
#include "detect.h"
#include "rng.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ      2.4e6
#define NOISE        1e-3 /* power of a sample; the detector does not depend on it */
#define BITS         80
#define BIT_HZ       10e3
#define CHIPS_BIT    2       /* Manchester */
#define PERIOD       240000u /* samples from burst to burst: 100 ms, several times what a burst keeps the detector busy */
#define LEAD_PERIODS 4       /* until the noise floor is known */
#define REACH_HZ     80e3    /* an outline whose middle is this near a carrier is that burst */
#define OUTLINES     64

typedef struct kind {
    const char *name;
    double deviation_hz; /* 0: on-off keying */
} kind;

/* The second deviation makes no spectral lines and is the fair one for long transforms. */
static const kind kinds[] = {{"FSK +-40 kHz", 40e3}, {"FSK +-37.3 kHz", 37.3e3}, {"OOK", 0.0}};

typedef struct told {
    size_t count;
    wh_outline item[OUTLINES];
} told;

static void take(void *context, const wh_outline *outline)
{
    told *t = context;
    if (t->count < OUTLINES)
        t->item[t->count] = *outline;
    t->count++;
}

static void add_noise(float *iq, size_t samples, wh_rng *rng)
{
    const double sigma = sqrt(0.5 * NOISE);
    for (size_t i = 0; i < samples; i++) {
        double pair[2];
        wh_rng_gauss_pair(rng, pair);
        iq[2 * i] += (float)(sigma * pair[0]);
        iq[2 * i + 1] += (float)(sigma * pair[1]);
    }
}

/* Random bits. Eb over N0 counts the energy of a bit in the mean, for on-off keying over its on and off halves. */
static void add_burst(float *iq, size_t start, double carrier_hz, const kind *k, double eb_db, wh_rng *rng)
{
    const double bit = RATE_HZ / BIT_HZ, energy = pow(10.0, eb_db / 10.0) * NOISE;
    const double amplitude = sqrt(energy / bit * (k->deviation_hz > 0.0 ? 1.0 : 2.0));
    double phase = 2.0 * M_PI * wh_rng_uniform(rng);
    size_t at = start;
    for (unsigned b = 0; b < BITS; b++) {
        const bool one = wh_rng_below(rng, 2) == 1;
        for (unsigned half = 0; half < CHIPS_BIT; half++) {
            const bool high = one == (half == 0);
            const double tone = k->deviation_hz > 0.0 ? (high ? k->deviation_hz : -k->deviation_hz) : 0.0;
            const size_t end = start + (size_t)llround(bit * (b + 0.5 * (half + 1)));
            for (; at < end; at++) {
                const double level = k->deviation_hz > 0.0 || high ? amplitude : 0.0;
                iq[2 * at] += (float)(level * cos(phase));
                iq[2 * at + 1] += (float)(level * sin(phase));
                phase += 2.0 * M_PI * (carrier_hz + tone) / RATE_HZ;
            }
        }
    }
}

typedef struct counts {
    size_t bursts, missed, clipped; /* clipped: noticed, but an outline's ends leave something of the burst out */
    size_t others;
} counts;

/* One burst a period; outlines come out a little later, so they are judged when everything has been told. */
typedef struct sent {
    uint64_t start, end;
    double carrier_hz;
    bool noticed, whole;
} sent;

static bool judge(const wh_outline *o, sent *bursts, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        sent *s = &bursts[i];
        if (o->end <= s->start || o->start >= s->end || fabs(o->centre_hz - s->carrier_hz) > REACH_HZ)
            continue;
        s->noticed = true;
        s->whole = s->whole || (o->start <= s->start && o->end >= s->end);
        return true;
    }
    return false;
}

static bool measure(const kind *k, double eb_db, size_t bursts, uint64_t seed, counts *result)
{
    told t = {0};
    const wh_detector_config config = {.sample_rate_hz = RATE_HZ, .pause_s = 0.002, .longest_s = 0.35};
    wh_detector *detector = wh_detector_create(&config, take, &t);
    float *iq = malloc(2 * PERIOD * sizeof *iq);
    sent *all = calloc(bursts, sizeof *all);
    const bool ok = detector && iq && all;
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    *result = (counts){.bursts = bursts};
    for (size_t p = 0; ok && p < bursts + LEAD_PERIODS; p++) {
        memset(iq, 0, 2 * PERIOD * sizeof *iq);
        if (p >= LEAD_PERIODS) {
            sent *s = &all[p - LEAD_PERIODS];
            const size_t length = (size_t)(BITS * RATE_HZ / BIT_HZ), at = wh_rng_below(&rng, PERIOD - length);
            s->carrier_hz = 2e6 * (wh_rng_uniform(&rng) - 0.5);
            s->start = (uint64_t)p * PERIOD + at;
            s->end = s->start + length;
            add_burst(iq, at, s->carrier_hz, k, eb_db, &rng);
        }
        add_noise(iq, PERIOD, &rng);
        wh_detector_push(detector, iq, PERIOD);
        if (p + 1 == bursts + LEAD_PERIODS)
            wh_detector_finish(detector);
        for (size_t i = 0; i < t.count && i < OUTLINES; i++)
            result->others += !judge(&t.item[i], all, bursts);
        t.count = 0;
    }
    for (size_t i = 0; ok && i < bursts; i++) {
        result->missed += !all[i].noticed;
        result->clipped += all[i].noticed && !all[i].whole;
    }
    free(all);
    free(iq);
    wh_detector_destroy(&detector);
    return ok;
}

/* Outlines in noise alone when `allowed` alarms a minute are. */
static bool alarms(double minutes, double allowed, uint64_t seed, size_t *count)
{
    told t = {0};
    const wh_detector_config config = {
        .sample_rate_hz = RATE_HZ, .longest_s = 0.35, .false_alarms_per_s = allowed / 60.0};
    wh_detector *detector = wh_detector_create(&config, take, &t);
    float *iq = malloc(2 * PERIOD * sizeof *iq);
    const bool ok = detector && iq;
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    for (double left = minutes * 60.0 * RATE_HZ; ok && left > 0.0; left -= PERIOD) {
        memset(iq, 0, 2 * PERIOD * sizeof *iq);
        add_noise(iq, PERIOD, &rng);
        wh_detector_push(detector, iq, PERIOD);
    }
    if (ok)
        wh_detector_finish(detector);
    *count = t.count;
    free(iq);
    wh_detector_destroy(&detector);
    return ok;
}

int main(int argc, char **argv)
{
    const size_t bursts = argc > 1 ? strtoul(argv[1], NULL, 10) : 500;
    const double minutes = argc > 2 ? strtod(argv[2], NULL) : 4.0;
    const uint64_t seed = argc > 3 ? strtoull(argv[3], NULL, 10) : 1;
    printf("%zu bursts a level, 8 ms each, 2.4 MS/s, one false alarm a minute allowed\n\n", bursts);
    printf("| Eb/N0 |");
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
        printf(" %s: missed | ends left out |", kinds[k].name);
    printf("\n|---|---|---|---|---|---|---|\n");
    for (double eb_db = 2.0; eb_db <= 10.0; eb_db += eb_db < 7.0 ? 0.5 : 1.0) {
        printf("| %.1f dB |", eb_db);
        for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
            counts c;
            if (!measure(&kinds[k], eb_db, bursts, seed + k, &c))
                return EXIT_FAILURE;
            printf(" %.2f %% | %.2f %% |", 100.0 * (double)c.missed / (double)c.bursts,
                   100.0 * (double)c.clipped / (double)c.bursts);
        }
        printf("\n");
        fflush(stdout);
    }
    static const double allowed[] = {1.0, 60.0};
    for (size_t i = 0; i < 2; i++) {
        size_t count;
        if (minutes > 0.0 && !alarms(minutes, allowed[i], seed + 100 + i, &count))
            return EXIT_FAILURE;
        if (minutes > 0.0)
            printf("noise alone, %.0f a minute allowed: %.2f a minute in %.1f minutes\n", allowed[i],
                   (double)count / minutes, minutes);
    }
    return EXIT_SUCCESS;
}
