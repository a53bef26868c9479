#include "../air.h"
#include "burst_tap.h"

#include <string.h>

#define RATE      1e6
#define SAMPLES   600000
#define AMPLITUDE 0.012 /* 19 dB over the noise in a chip rate: its skirts stay below the noise */

typedef struct ear {
    unsigned count, in_receiver;
    wh_outline outline[4];
    double rate_hz, mean_power, offset_s;
    size_t samples;
} ear;

static void take(void *context, const wh_burst_job *job, const wh_outline *outline)
{
    ear *e = context;
    assert_true(e->count < 4);
    e->outline[e->count++] = *outline;
    e->rate_hz = job->rate_hz;
    e->samples = job->count;
    e->offset_s = job->burst.offset_s;
    double sum = 0.0;
    const size_t from = job->count / 4, to = job->count / 4 * 3;
    for (size_t i = from; i < to; i++)
        sum += (double)(crealf(job->samples[i]) * crealf(job->samples[i]) +
                        cimagf(job->samples[i]) * cimagf(job->samples[i]));
    e->mean_power = sum / (double)(to - from);
}

static void count_burst(void *context, const wh_burst *burst)
{
    assert_int_equal(burst->reason, WH_REASON_NO_DESCRIPTOR);
    ((ear *)context)->in_receiver++;
}

/* Two emissions of alternating tones with a pause of `pause_s` between them. */
static ear run(double pause_s, double tapped_pause_s, size_t block)
{
    float *iq = air_silence(SAMPLES);
    air_noise(iq, SAMPLES, 1e-4, 3);
    uint8_t chips[400];
    air_random_chips(chips, 400, 7);
    air_keying keying = {RATE, 20e3, 200e3, 50e3, 30e3, AMPLITUDE};
    const double end = air_keyed(iq, SAMPLES, &keying, chips, 400);
    keying.start = end + pause_s * RATE;
    air_keyed(iq, SAMPLES, &keying, chips, 400);

    ear e = {0};
    wh_descriptor_set *none = wh_descriptor_set_create();
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    const wh_receiver_sink sink = {.context = &e, .burst = count_burst};
    wh_receiver *receiver = NULL;
    assert_int_equal(wh_receiver_create(&config, none, &sink, &receiver, NULL), WH_OK);
    const wh_burst_tap tap = {take, &e, tapped_pause_s, 1.0};
    wh_receiver_set_tap(receiver, &tap);
    const wh_stream stream = {.format = WH_IQ_CF32, .sample_rate_hz = RATE, .start_s = 5.0};
    assert_int_equal(wh_receiver_begin(receiver, &stream, NULL), WH_OK);
    for (size_t at = 0; at < SAMPLES; at += block)
        assert_int_equal(wh_receiver_push(receiver, iq + 2 * at, SAMPLES - at < block ? SAMPLES - at : block), WH_OK);
    assert_int_equal(wh_receiver_finish(receiver), WH_OK);
    wh_receiver_destroy(&receiver);
    wh_descriptor_set_destroy(&none);
    free(iq);
    return e;
}

static void test_gives_bursts_without_any_descriptor(void **state)
{
    (void)state;
    const ear e = run(0.05, 0.0, 10000);
    assert_int_equal(e.count, 2);
    assert_int_equal(e.in_receiver, 2);
    /* Sent from 200000 to 220000 and from 270000 to 290000; outlines are generous by a few slots of 512 samples. */
    assert_true(e.outline[0].start <= 200000 && e.outline[0].start > 195000);
    assert_true(e.outline[0].end >= 220000 && e.outline[0].end < 225000);
    assert_true(e.outline[1].start <= 270000 && e.outline[1].end >= 290000);
    assert_true(e.rate_hz >= 400e3 && (double)e.samples >= 20000 * 0.4);
    /* Isolation keeps levels; half of the noise's bandwidth is left. */
    assert_true(fabs(e.mean_power - AMPLITUDE * AMPLITUDE - 0.5e-4) < 0.5e-4);
    assert_true(fabs(e.offset_s - 5.27) < 0.005);
}

static void test_bridges_the_pause_that_is_asked_for(void **state)
{
    (void)state;
    assert_true(run(0.006, 0.0, 10000).count >= 2);
    assert_int_equal(run(0.006, 0.012, 10000).count, 1);
}

static void test_gives_the_same_in_any_blocks(void **state)
{
    (void)state;
    const ear a = run(0.05, 0.0, 10000), b = run(0.05, 0.0, 333);
    assert_int_equal(a.count, b.count);
    assert_memory_equal(a.outline, b.outline, sizeof a.outline);
    assert_true(a.mean_power == b.mean_power);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gives_bursts_without_any_descriptor),
        cmocka_unit_test(test_bridges_the_pause_that_is_asked_for),
        cmocka_unit_test(test_gives_the_same_in_any_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
