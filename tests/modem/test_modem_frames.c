/* The whole receiver's frame loss at two points, so that a regression shows at once; report_frame_loss draws the
 * whole curve. */
#include "modem_frame.h"
#include "modem_loss.h"
#include "modem_theory.h"
#include "near.h"

#include <string.h>

#define BITS     80
#define FRAMES   200
#define ACCIDENT 1e-4 /* a count this unlikely is no accident */
/* Carrier, deviation, rate, timing and start are unknown to the receiver, which costs it something; it makes up for
 * that by the phase that neighbouring bits share. Allowed is the loss of a receiver that is told all of these and
 * decides bit by bit, phase unknown. */
static void check_point(unsigned kind, const char *name, double eb_db, uint64_t seed)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    const wh_descriptor *descriptor = set ? modem_kind(set, kind) : NULL;
    assert_non_null(descriptor);
    assert_string_equal(wh_descriptor_name(descriptor), name);
    modem_loss loss;
    assert_true(modem_loss_measure(set, descriptor, 1, eb_db, FRAMES, true, seed, &loss));
    wh_descriptor_set_destroy(&set);
    assert_int_equal(loss.frames, FRAMES);
    const size_t lost = FRAMES - loss.unrepaired;
    const double coherent = modem_frame_loss(modem_coherent_error(modem_ratio(eb_db)), BITS);
    const double allowed = modem_frame_loss(modem_noncoherent_error(modem_ratio(eb_db)), BITS);
    print_message("%s %.1f dB: %zu of %d lost without repair (%.3f with the phase known, %.3f allowed), %zu with\n",
                  name, eb_db, lost, FRAMES, coherent, allowed, FRAMES - loss.heard);
    assert_true(modem_at_most(lost, FRAMES, coherent) > ACCIDENT);
    assert_true(modem_at_least(lost, FRAMES, allowed) > ACCIDENT);
    /* Trying the four least reliable bits is worth at least half a decibel. */
    const double repaired = modem_frame_loss(modem_noncoherent_error(modem_ratio(eb_db + 0.5)), BITS);
    assert_true(modem_at_least(FRAMES - loss.heard, FRAMES, repaired) > ACCIDENT);
    assert_true(loss.heard >= loss.unrepaired);
    assert_true(loss.heard >= loss.plain_chips && loss.heard >= loss.plain_bits);
    assert_int_equal(loss.wrong_sure, 0);
}

static void tones_lose_no_more_frames_than_theory_allows(void **state)
{
    (void)state;
    check_point(0, "fsk-40", 10.0, 11);
}

static void keying_loses_no_more_frames_than_theory_allows(void **state)
{
    (void)state;
    check_point(2, "ook", 10.5, 12);
}

/* The reference must be what people know: with everything told, a discriminator behind a filter of 200 kHz loses a
 * tenth of such frames near 15 dB when the difference of a bit's two chips decides (an independent simulation with
 * numpy gave 15.1 dB for tones at +-40 kHz), far behind the receiver but not hopeless. */
static void a_discriminator_needs_five_decibels_more(void **state)
{
    (void)state;
    wh_descriptor_set *set = wh_descriptor_set_create();
    const wh_descriptor *descriptor = set ? modem_kind(set, 0) : NULL;
    assert_non_null(descriptor);
    modem_loss low, high;
    assert_true(modem_loss_measure(set, descriptor, 1, 14.0, FRAMES, true, 21, &low));
    assert_true(modem_loss_measure(set, descriptor, 1, 16.0, FRAMES, true, 22, &high));
    wh_descriptor_set_destroy(&set);
    assert_in_range(FRAMES - low.plain_bits, FRAMES / 10, 6 * FRAMES / 10);
    assert_in_range(FRAMES - high.plain_bits, 0, FRAMES / 10);
    assert_true(low.plain_chips < low.plain_bits && high.plain_chips < high.plain_bits);
    assert_int_equal(high.heard, FRAMES);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tones_lose_no_more_frames_than_theory_allows),
        cmocka_unit_test(keying_loses_no_more_frames_than_theory_allows),
        cmocka_unit_test(a_discriminator_needs_five_decibels_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
