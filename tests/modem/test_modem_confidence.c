/* Confidence must come true: neither more nor fewer readings may be right than they claim. A quick gate with room for
 * chance; report_confidence measures. Argument: the folder of the shipped descriptors. */
#include "modem_calibration.h"
#include "modem_theory.h"
#include "near.h"

#include <math.h>

#define TRANSMISSIONS 480
#define LOW_DB        3.0 /* where few frames are heard, and doubtful ones, to where few are lost */
#define HIGH_DB       9.0
#define ERROR         0.03 /* the expected calibration error that is promised */
#define CHANCES       4.0  /* standard deviations: one run in ten thousand */

static const char *folder;

typedef struct heard {
    modem_reliability all;
    size_t sure, sure_right; /* at 0.9 and above */
    double sure_claimed;
} heard;

static void take(void *context, const wh_reading *reading, const modem_sent *sent)
{
    heard *h = context;
    const bool right = modem_values_right(reading, sent);
    assert_true(reading->confidence >= 0.0 && reading->confidence <= 1.0);
    modem_reliability_add(&h->all, reading->confidence, right);
    if (reading->confidence >= 0.9) {
        h->sure++;
        h->sure_right += right;
        h->sure_claimed += reading->confidence;
    }
}

static void claims_come_true(void **state)
{
    (void)state;
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_non_null(set);
    assert_int_equal(wh_descriptor_set_load_folder(set, folder, NULL, NULL), WH_OK);
    heard h = {0};
    assert_true(modem_calibration_listen(set, TRANSMISSIONS, LOW_DB, HIGH_DB, 31, take, &h));
    wh_descriptor_set_destroy(&set);
    double claimed = 0.0, right = 0.0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++) {
        claimed += h.all.claimed[i];
        right += (double)h.all.right[i];
    }
    const double n = (double)h.all.all;
    print_message("%zu readings claim %.1f right, %.0f are (expected error %.4f); at 0.9 and above %zu of %zu\n",
                  h.all.all, claimed, right, modem_calibration_error(&h.all), h.sure_right, h.sure);
    assert_true(n >= TRANSMISSIONS / 4.0 && (double)h.sure >= TRANSMISSIONS / 8.0); /* there is something to judge */
    /* On the whole, from both sides. */
    const double chance = CHANCES * sqrt(h.all.variance);
    assert_true(claimed - right <= ERROR * n + chance);
    assert_true(right - claimed <= ERROR * n + chance);
    /* Class by class: readings as honest as can be stray by the mean distance of binomial counts. */
    double stray = 0.0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++) {
        const double count = (double)h.all.count[i], mean = count > 0.0 ? h.all.claimed[i] / count : 0.0;
        stray += sqrt(2.0 / M_PI * count * mean * (1.0 - mean));
    }
    assert_true(modem_calibration_error(&h.all) <= ERROR + 2.0 * stray / n);
    /* What people act upon: as many right as claimed, but for the promised error and chance. */
    const double share = h.sure_claimed / (double)h.sure - ERROR;
    assert_true(modem_at_most(h.sure_right, h.sure, share) > 1e-4);
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 64;
    folder = argv[1];
    const struct CMUnitTest tests[] = {cmocka_unit_test(claims_come_true)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
