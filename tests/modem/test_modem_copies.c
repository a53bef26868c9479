/* Copies are worth more together than one after the other. */
#include "modem_frame.h"
#include "modem_loss.h"
#include "modem_theory.h"
#include "near.h"

#include <math.h>

#define BITS     80
#define GROUPS   90
#define SINGLES  200
#define COPIES   3
#define EB_DB    5.5  /* most single frames are lost, most groups of three are not */
#define ACCIDENT 1e-4 /* a count this unlikely is no accident */

/* The formula that the gate rests on, against an independent simulation of 80-bit frames (numpy, 3000 frames a point): adding the
 * squares of three copies they lose a tenth at 7.1 dB each, of eight at 4.05 dB. */
static void squares_of_copies_add_up(void **state)
{
    (void)state;
    assert_near(modem_noncoherent_sum_error(7.0, 1), modem_noncoherent_error(7.0), 1e-15);
    const double three = modem_frame_loss(modem_noncoherent_sum_error(3.0 * modem_ratio(7.1), 3), BITS);
    const double eight = modem_frame_loss(modem_noncoherent_sum_error(8.0 * modem_ratio(4.05), 8), BITS);
    assert_near(three, 0.1, 0.03);
    assert_near(eight, 0.1, 0.03);
}

static void three_copies_are_merged(void **state)
{
    (void)state;
    wh_descriptor_set *set = wh_descriptor_set_create();
    const wh_descriptor *descriptor = set ? modem_kind(set, 0) : NULL;
    assert_non_null(descriptor);
    modem_loss single, merged;
    assert_true(modem_loss_measure(set, descriptor, 1, EB_DB, SINGLES, false, 41, &single));
    assert_true(modem_loss_measure(set, descriptor, COPIES, EB_DB, GROUPS, false, 42, &merged));
    wh_descriptor_set_destroy(&set);
    const size_t lost = GROUPS - merged.believed, lost_unrepaired = GROUPS - merged.unrepaired;
    /* Three tries at single frames lose a group when all three fail. */
    const double tries = pow(1.0 - (double)single.heard / SINGLES, COPIES);
    const double coherent = modem_frame_loss(modem_coherent_error(COPIES * modem_ratio(EB_DB)), BITS);
    const double squares =
        modem_frame_loss(modem_noncoherent_sum_error(COPIES * modem_ratio(EB_DB + 1.0), COPIES), BITS);
    print_message("%.1f dB: %zu of %d groups lost, %zu without repair (%.3f with all phases known); three tries would "
                  "lose %.3f, adding squares %.3f at 1 dB more\n",
                  EB_DB, lost, GROUPS, lost_unrepaired, coherent, tries, squares);
    assert_true(modem_at_most(lost, GROUPS, tries) < ACCIDENT);
    assert_true(modem_at_least(lost, GROUPS, squares) > ACCIDENT);
    assert_true(modem_at_most(lost_unrepaired, GROUPS, coherent) > ACCIDENT);
    assert_int_equal(merged.wrong_sure, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(squares_of_copies_add_up),
        cmocka_unit_test(three_copies_are_merged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
