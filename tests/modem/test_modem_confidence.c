/* Confidence must come true: neither more nor fewer readings may be right than they claim. Gates for every build, narrow enough to
 * refuse claims that are off, which is tested as well; report_confidence and report_impairments measure.
 * Argument: the folder of the shipped descriptors. */
#include "modem_calibration.h"
#include "modem_frame.h"
#include "modem_spoilt.h"
#include "modem_theory.h"
#include "near.h"

#include <math.h>
#include <string.h>

#define TRANSMISSIONS 960 /* with 720 too few are in doubt for claims twice as sure to be refused */
#define LOW_DB        3.0 /* where few frames are heard, and doubtful ones, to where few are lost */
#define HIGH_DB       8.0
#define MOST          2000
#define CHANCES       3.0  /* standard deviations: one run in 400, and the seeds are fixed */
#define SLACK         0.01 /* share of readings by which claims may be off in sum: no model is perfect */
#define SPOILT_SLACK  0.02 /* the same for faults that no model describes */

static const char *folder;

/* Claims and what came true. */
typedef struct heard {
    size_t count;
    double claim[MOST];
    bool right[MOST], merged[MOST];
} heard;

static void take(void *context, const wh_reading *reading, const modem_sent *sent)
{
    heard *h = context;
    assert_true(reading->confidence >= 0.0 && reading->confidence <= 1.0);
    assert_true(h->count < MOST);
    h->claim[h->count] = reading->confidence;
    h->right[h->count] = modem_values_right(reading, sent);
    h->merged[h->count++] = reading->copies > 1;
}

typedef struct verdict {
    double excess; /* claimed minus right, over what chance and slack allow; beyond +-1 the claims are refused */
    double z;      /* Spiegelhalter's statistic, standard normal when all claims are true */
} verdict;

/* Sums from both sides, and Spiegelhalter's test (Statistics in Medicine 5, 1986, 421-433), which weighs sure claims more: it sees
 * claims that are right on the whole but too sure at the top and too shy at the bottom. Log odds are moved by `shift` and stretched by
 * `stretch` first. Merged readings (1), others (0) or all (-1). */
static verdict judge(const heard *h, int merged, double shift, double stretch)
{
    double sum = 0.0, variance = 0.0, skill = 0.0, skill_variance = 0.0, n = 0.0;
    for (size_t i = 0; i < h->count; i++) {
        if (merged >= 0 && h->merged[i] != (merged == 1))
            continue;
        const double claim = fmin(fmax(h->claim[i], 1e-9), 1.0 - 1e-9);
        const double p = 1.0 / (1.0 + exp(-(stretch * log(claim / (1.0 - claim)) + shift)));
        const double right = h->right[i];
        sum += p - right;
        variance += p * (1.0 - p);
        skill += (right - p) * (1.0 - 2.0 * p);
        skill_variance += (1.0 - 2.0 * p) * (1.0 - 2.0 * p) * p * (1.0 - p);
        n += 1.0;
    }
    return (verdict){sum / (CHANCES * sqrt(variance) + SLACK * n),
                     skill_variance > 0.0 ? skill / sqrt(skill_variance) : 0.0};
}

static bool accepted(verdict v)
{
    return fabs(v.excess) <= 1.0 && fabs(v.z) <= CHANCES;
}

static void claims_come_true(void **state)
{
    (void)state;
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_non_null(set);
    assert_int_equal(wh_descriptor_set_load_folder(set, folder, NULL, NULL), WH_OK);
    static heard h;
    memset(&h, 0, sizeof h);
    assert_true(modem_calibration_listen(set, TRANSMISSIONS, LOW_DB, HIGH_DB, 31, take, &h));
    wh_descriptor_set_destroy(&set);
    assert_true(h.count >= TRANSMISSIONS / 4); /* there is something to judge */
    static const char *const names[] = {"all", "single", "merged"};
    for (int group = -1; group <= 1; group++) {
        const verdict v = judge(&h, group, 0.0, 1.0);
        print_message(
            "%s of %zu readings: claims exceed what is right by %.2f of what is allowed, Spiegelhalter's z %.2f\n",
            names[group + 1], h.count, v.excess, v.z);
        assert_true(accepted(v));
    }
    /* The gate has teeth. Claims that are off by two in log odds (0.9 for 0.55, or 0.985) do not pass, nor claims twice as sure or a
     * quarter as sure as they should be on both sides. A model whose expected error was 0.030 failed it by half. */
    assert_false(accepted(judge(&h, -1, 2.0, 1.0)));
    assert_false(accepted(judge(&h, -1, -2.0, 1.0)));
    assert_false(accepted(judge(&h, -1, 0.0, 2.0)));
    assert_false(accepted(judge(&h, -1, 0.0, 0.25)));
}

/* Frames that something spoils, of descriptors that are not shipped and guarded by 8 bits alone: fading, a second ray, phase noise,
 * pulses, a neighbour, each where about half are lost. */
static void claims_come_true_when_spoilt(void **state)
{
    (void)state;
    static const struct {
        modem_spoil spoil;
        double eb_db;
    } faults[] = {
        {{.dip_db = 6.0}, 9.0},
        {{.ray_s = 5e-6, .ray_db = -3.0}, 9.0},
        {{.linewidth_hz = 300.0}, 8.0},
        {{.drift_hz = 5e3}, 11.0},
        {{.pulses_db = 20.0, .pulse_s = 20e-6, .pulse_period_s = 5e-3}, 9.0},
        {{.other = true, .other_db = 20.0, .other_off_hz = 200e3}, 8.0},
    };
    noise_pool *pool = noise_pool_create(1);
    assert_non_null(pool);
    modem_reliability all = {0};
    size_t wrong_sure = 0;
    for (unsigned keyed = 0; keyed < 2; keyed++) {
        wh_descriptor_set *set = wh_descriptor_set_create();
        const wh_descriptor *kind = set ? modem_kind(set, keyed ? 2 : 0) : NULL;
        assert_non_null(kind);
        for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
            modem_spoilt result;
            assert_true(modem_spoilt_measure(set, kind, &faults[i].spoil, pool, faults[i].eb_db, 40, 900 + i, &result));
            modem_reliability_join(&all, &result.reliability);
            wrong_sure += result.wrong_sure;
        }
        wh_descriptor_set_destroy(&set);
    }
    noise_pool_destroy(&pool);
    double claimed = 0.0, right = 0.0, sure = 0.0, sure_claimed = 0.0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++) {
        claimed += all.claimed[i];
        right += (double)all.right[i];
        if (modem_claim_edges[i] >= 0.9) {
            sure += (double)all.count[i];
            sure_claimed += all.claimed[i];
        }
    }
    print_message(
        "%zu readings of spoilt frames claim %.1f right, %.0f are; of %.0f at 0.9 and above %zu are wrong, %.1f by "
        "their claims\n",
        all.all, claimed, right, sure, wrong_sure, sure - sure_claimed);
    assert_true(all.all >= 150 && sure >= 100.0);
    const double allowed = CHANCES * sqrt(all.variance) + SPOILT_SLACK * (double)all.all;
    assert_true(fabs(claimed - right) <= allowed);
    /* What people act upon: no more wrong than the claims and a hundredth say. */
    const double share = fmin(1.0, (sure - sure_claimed) / sure + 0.01);
    assert_true(modem_at_least(wrong_sure, (size_t)sure, share) > 1e-3);
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 64;
    folder = argv[1];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(claims_come_true),
        cmocka_unit_test(claims_come_true_when_spoilt),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
