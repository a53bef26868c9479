/* Chips whose level, noise or tone changes on the way: each must be weighed by its own. */
#include "chip_levels.h"

#include "rng.h"

#include "../near.h"

#define COUNT 200
#define PAD   32
#define NOISE 0.1 /* variance of a correlation; amplitude 1: 10 dB a chip */

typedef struct air {
    double dip_db;        /* in the middle third */
    double noise[2];      /* factor by which a tone's noise is raised in the middle third */
    size_t hit;           /* this chip ... */
    double hit_amplitude; /* ... is hit so hard on both tones */
    bool keyed;
    uint64_t seed;
} air;

static bool middle(size_t k)
{
    return k >= COUNT / 3 && k < 2 * COUNT / 3;
}

static unsigned sent(uint64_t seed, size_t k)
{
    /* Manchester-like: the second of a pair is the opposite of the first. */
    wh_rng rng;
    wh_rng_seed(&rng, seed * 1000 + k / 2);
    return (unsigned)(wh_rng_next(&rng) >> 63) ^ (unsigned)(k % 2);
}

static void fill(wh_chips *chips, const air *a)
{
    wh_rng rng;
    wh_rng_seed(&rng, a->seed);
    *chips = (wh_chips){0};
    assert_true(wh_chips_reserve(chips, COUNT + 2 * PAD));
    chips->count = COUNT + 2 * PAD;
    chips->first = PAD;
    chips->last = PAD + COUNT;
    chips->keyed = a->keyed;
    for (size_t i = 0; i < chips->count; i++) {
        const bool on_air = i >= chips->first && i < chips->last;
        const size_t k = i - PAD;
        const double gain = on_air && middle(k) ? pow(10.0, -a->dip_db / 20.0) : 1.0;
        const double angle = 2.0 * M_PI * wh_rng_uniform(&rng);
        for (unsigned v = 0; v < 2; v++) {
            double pair[2];
            wh_rng_gauss_pair(&rng, pair);
            const double raised = on_air && middle(k) && a->noise[v] > 0.0 ? a->noise[v] : 1.0;
            const double sigma = sqrt(0.5 * NOISE * raised);
            const double level = on_air && sent(a->seed, k) == v ? gain : 0.0;
            const double more = on_air && a->hit_amplitude > 0.0 && k == a->hit ? a->hit_amplitude : 0.0;
            const float re = (float)(level * cos(angle) + sigma * pair[0] + more);
            const float im = (float)(level * sin(angle) + sigma * pair[1]);
            chips->value[v][i] = a->keyed && v == 0 ? 0.0f : re + im * I;
        }
    }
    wh_chips_judge(chips, 1.0f, (float)NOISE, 0.1);
}

/* Mean cost of a value over the middle third or the others, over what amplitude 1 and the noise make it. */
static double relative_cost(const wh_chips *chips, unsigned v, bool in_middle)
{
    double sum = 0.0;
    size_t count = 0;
    for (size_t k = 12; k + 12 < COUNT; k++)
        if (middle(k) == in_middle && middle(k - 12) == in_middle && middle(k + 12) == in_middle) {
            sum += (double)chips->cost[v][PAD + k];
            count++;
        }
    return sum / (double)count * NOISE;
}

static double relative_llr(const wh_chips *chips, bool in_middle)
{
    double sum = 0.0, count = 0.0;
    for (size_t k = 0; k < COUNT; k++)
        if (middle(k) == in_middle) {
            sum += fabs((double)chips->llr[PAD + k]);
            count += 1.0;
        }
    return sum / count;
}

static size_t wrong_chips(const wh_chips *chips, uint64_t seed)
{
    size_t wrong = 0;
    for (size_t k = 0; k < COUNT; k++)
        wrong += (chips->llr[PAD + k] > 0.0f) != (sent(seed, k) == 1);
    return wrong;
}

/* Nothing changes: nothing is weighed differently, but for what little noise makes believe. */
static void test_steady(void **state)
{
    (void)state;
    for (int keyed = 0; keyed < 2; keyed++) {
        double worst = 0.0;
        for (uint64_t seed = 1; seed <= 40; seed++) {
            wh_chips chips;
            fill(&chips, &(air){.keyed = keyed, .seed = seed});
            for (unsigned v = keyed ? 1 : 0; v < 2; v++) {
                const double off = fabs(relative_cost(&chips, v, true) - relative_cost(&chips, v, false));
                worst += off / 40.0;
            }
            assert_true(!keyed || chips.cost[0][PAD + COUNT / 2] <= 0.0f);
            wh_chips_free(&chips);
        }
        assert_true(worst < 0.25);
    }
}

/* A dip of 9 dB: the power is followed to 3.5 dB, to 5 dB when keying makes it uneven anyway; what looks like chance is not believed. */
static void test_dip(void **state)
{
    (void)state;
    for (int keyed = 0; keyed < 2; keyed++) {
        double ratio = 0.0;
        for (uint64_t seed = 1; seed <= 40; seed++) {
            wh_chips chips;
            fill(&chips, &(air){.dip_db = 9.0, .keyed = keyed, .seed = seed});
            ratio += relative_cost(&chips, 1, true) / relative_cost(&chips, 1, false) / 40.0;
            wh_chips_free(&chips);
        }
        assert_true(ratio > pow(10.0, -1.2) && ratio < pow(10.0, keyed ? -0.4 : -0.55));
    }
}

/* One tone drowns in twenty times the noise for a third of the frame, twice the signal: the other one decides. All chips taken alike
 * lose more. */
static void test_one_tone_disturbed(void **state)
{
    (void)state;
    size_t wrong = 0, alike = 0;
    double disturbed = 0.0, clear = 0.0;
    for (unsigned v = 0; v < 2; v++)
        for (uint64_t seed = 1; seed <= 60; seed++) {
            wh_chips chips;
            air a = {.seed = seed};
            a.noise[v] = 20.0;
            fill(&chips, &a);
            disturbed += relative_cost(&chips, v, true) / 120.0;
            clear += relative_cost(&chips, 1 - v, true) / 120.0;
            wrong += wrong_chips(&chips, seed);
            for (size_t k = 0; k < COUNT; k++) {
                const float one = wh_magnitude(chips.value[1][PAD + k]) * chips.cost[0][0] / chips.cost[1][PAD + k];
                const float zero = wh_magnitude(chips.value[0][PAD + k]) * chips.cost[0][0] / chips.cost[0][PAD + k];
                alike += (one > zero) != (sent(seed, k) == 1);
            }
            wh_chips_free(&chips);
        }
    assert_true(disturbed < 0.3 && clear > 2.0 * disturbed);
    assert_true((double)wrong < 0.6 * (double)alike);
}

/* A chip hit by ten times the amplitude says nothing, its neighbours are as sure as others. */
static void test_hit(void **state)
{
    (void)state;
    size_t wrong = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        wh_chips chips;
        fill(&chips, &(air){.hit = 77, .hit_amplitude = 10.0, .seed = seed});
        assert_true(fabsf(chips.llr[PAD + 77]) < 2.0f);
        assert_true(relative_llr(&chips, true) > 0.7 * relative_llr(&chips, false));
        wrong += wrong_chips(&chips, seed);
        wh_chips_free(&chips);
    }
    assert_true(wrong < 40 * 2); /* 200 exp(-5) / 2 = 0.7 of each by theory, and half of the hit one */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_steady),
        cmocka_unit_test(test_dip),
        cmocka_unit_test(test_one_tone_disturbed),
        cmocka_unit_test(test_hit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
