/* What spoils reception must not spoil it more than it does: at a level for every fault no more than a tenth of the frames is lost. */
#include "modem_faults.h"
#include "modem_frame.h"
#include "modem_theory.h"
#include "near.h"

#define FRAMES   80
#define TENTH    0.1
#define ACCIDENT 1e-4 /* a count this unlikely is no accident */
#define KINDS    2

/* Eb/N0 in dB, for the tones and the keyed kind: where report_impairments measured that a tenth is lost, and a decibel more. 0: not
 * measured for this kind, or lost at any level. */
static const struct level {
    const char *fault;
    double eb_db[KINDS];
} levels[] = {
    {"nothing but noise", {9.0, 9.1}},
    {"drift 2 kHz over the frame", {9.6, 10.4}},
    {"phase noise, line 300 Hz wide", {10.1, 10.4}},
    {"rate 10 % off, tolerance 10 %", {8.9, 9.4}},
    {"deviation 25 % off", {8.9, 0.0}},
    {"dip of 6 dB", {11.6, 13.1}},
    {"second ray 0.25 chip late, -6 dB", {10.8, 10.6}},
    {"0 Hz: offset of 4 steps that begins late", {9.4, 11.0}},
    {"steady carrier +20 dB at 50 kHz", {9.0, 9.0}},
    {"neighbour +20 dB at 100 kHz", {10.2, 9.5}},
    {"neighbour +20 dB at 200 kHz", {10.5, 9.2}},
    {"pulses +20 dB, 20 us every 5 ms", {16.0, 15.0}},
    {"sweep +10 dB, 400 kHz in 1 ms", {9.3, 12.6}},
};

/* Kinds of modem_frame.h: 2-FSK and on-off keying, Manchester. */
static const unsigned kinds[KINDS] = {0, 2};

struct bench {
    noise_pool *pool;
    wh_descriptor_set *sets[KINDS];
    const wh_descriptor *kinds[KINDS];
};

static int set_up(void **state)
{
    static struct bench bench;
    const modem_kind_options with = {0.10, 3, 0.03, 0.06}; /* as in the report */
    bench.pool = noise_pool_create(1);
    for (unsigned k = 0; k < KINDS; k++) {
        bench.sets[k] = wh_descriptor_set_create();
        bench.kinds[k] = bench.sets[k] ? modem_kind_with(bench.sets[k], kinds[k], with) : NULL;
    }
    *state = &bench;
    return bench.pool && bench.kinds[0] && bench.kinds[1] ? 0 : -1;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;
    for (unsigned k = 0; k < KINDS; k++)
        wh_descriptor_set_destroy(&bench->sets[k]);
    noise_pool_destroy(&bench->pool);
    return 0;
}

static modem_spoilt measure(const struct bench *bench, unsigned kind, const modem_spoil *spoil, double eb_db)
{
    modem_spoilt result;
    assert_non_null(spoil);
    assert_true(
        modem_spoilt_measure(bench->sets[kind], bench->kinds[kind], spoil, bench->pool, eb_db, FRAMES, 501, &result));
    return result;
}

static void no_fault_costs_more(void **state)
{
    const struct bench *bench = *state;
    size_t worse = 0, sure = 0;
    for (size_t i = 0; i < sizeof levels / sizeof levels[0]; i++)
        for (unsigned k = 0; k < KINDS; k++) {
            const double eb_db = levels[i].eb_db[k];
            if (!(eb_db > 0.0))
                continue;
            const modem_spoilt result = measure(bench, k, modem_fault_find(levels[i].fault), eb_db);
            const size_t lost = FRAMES - result.believed;
            print_message("%s, %s, %.1f dB: %zu of %d lost\n", levels[i].fault, k ? "keyed" : "tones", eb_db, lost,
                          FRAMES);
            worse += modem_at_least(lost, FRAMES, TENTH) < ACCIDENT;
            sure += result.wrong_sure;
        }
    assert_int_equal(worse, 0);
    assert_true(sure <= 4); /* of 2000 readings: claims of 0.9 and more are wrong once in 500 at most */
}

/* Two sensors at once: beside each other both are read, on the very frequency the stronger always, whatever the other's copies make. */
static void sensors_at_once(void **state)
{
    const struct bench *bench = *state;
    const modem_spoil beside = {.other = true, .other_off_hz = 50e3};
    const modem_spoil beneath = {.other = true, .other_db = 10.0, .copies = 3};
    for (unsigned k = 0; k < KINDS; k++) {
        const modem_spoilt two = measure(bench, k, &beside, 16.0);
        assert_true(modem_at_most(two.both_believed, FRAMES, 0.97) > ACCIDENT);
        const modem_spoilt one = measure(bench, k, &beneath, 16.0);
        assert_true(modem_at_most(one.other_believed, FRAMES, 0.99) > ACCIDENT);
        assert_true(modem_at_most(one.believed, FRAMES, 0.85) > ACCIDENT);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_fault_costs_more),
        cmocka_unit_test(sensors_at_once),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
