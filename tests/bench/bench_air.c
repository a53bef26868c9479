#include "bench_air.h"

#include "rng.h"
#include "synth_frame.h"
#include "synth_recording.h"
#include "synth_scene.h"

#include <math.h>
#include <stdlib.h>

#define NOISE (2.0 * 9.0 / (127.5 * 127.5)) /* 3 steps of the converter in each of I and Q */

static wh_status add_activation(wh_scene *scene, const wh_descriptor *descriptor, double start_s, unsigned copies,
                                double snr_db, wh_rng *rng)
{
    double carrier = 433.92e6;
    for (unsigned i = 0; i < descriptor->carrier_count; i++)
        if (fabs(descriptor->carriers_hz[i] - BENCH_CENTRE_HZ) < 0.4 * BENCH_RATE_HZ)
            carrier = descriptor->carriers_hz[i];
    wh_transmission t = {
        .descriptor = descriptor,
        .copies = copies,
        .gap_s = -1.0,
        .start_s = start_s,
        .amplitude = wh_snr_amplitude(snr_db, descriptor->radio.chip_rate_hz, NOISE, BENCH_RATE_HZ),
        .carrier_hz = carrier - BENCH_CENTRE_HZ + 220e3 * (wh_rng_uniform(rng) - 0.5),
        .rate_error = 0.06 * (wh_rng_uniform(rng) - 0.5),
    };
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    const wh_status status = wh_synth_frame(descriptor, NULL, 0, 0, site, &t.frame, NULL);
    return status == WH_OK ? wh_scene_add(scene, &t, NULL) : status;
}

static bench_air record(wh_scene *scene, double seconds)
{
    bench_air air = {.count = (size_t)(seconds * BENCH_RATE_HZ)};
    const wh_recording_burst *bursts = wh_scene_bursts(scene, &air.bursts);
    const wh_recording_spec spec = {
        .format = WH_IQ_CU8, .sample_rate_hz = BENCH_RATE_HZ, .samples = air.count, .noise_power = NOISE, .seed = 3};
    wh_recording *recording = NULL;
    air.samples = malloc(2 * air.count);
    if (air.samples && wh_recording_create(&spec, bursts, air.bursts, &recording, NULL) == WH_OK)
        air.count = wh_recording_read_native(recording, air.samples, air.count);
    else
        bench_air_free(&air);
    wh_recording_destroy(&recording);
    return air;
}

bench_air bench_air_make(const wh_descriptor_set *set, double seconds, double bursts_per_s, double snr_db)
{
    const size_t bursts = (size_t)(seconds * bursts_per_s);
    wh_rng rng;
    wh_rng_seed(&rng, 1);
    wh_scene *scene = wh_scene_create(2);
    bool ok = scene != NULL;
    for (size_t i = 0; ok && i < bursts; i++) {
        const double slot = (seconds - 0.7) / (double)bursts;
        const wh_descriptor *descriptor = wh_descriptor_set_at(set, i % wh_descriptor_set_count(set));
        const double start_s = 0.4 + slot * ((double)i + wh_rng_uniform(&rng));
        ok = add_activation(scene, descriptor, start_s, 1, snr_db, &rng) == WH_OK;
    }
    bench_air air = ok ? record(scene, seconds) : (bench_air){0};
    wh_scene_destroy(&scene);
    return air;
}

bench_air bench_air_yard(const wh_descriptor_set *set, double seconds)
{
    const size_t activations = (size_t)(seconds * 40.0 / 60.0);
    wh_rng rng;
    wh_rng_seed(&rng, 4);
    wh_scene *scene = wh_scene_create(5);
    bool ok = scene != NULL;
    double start_s = 0.4;
    for (size_t i = 0; ok && i < activations; i++) {
        const wh_descriptor *descriptor = wh_descriptor_set_at(set, i % wh_descriptor_set_count(set));
        if (i % 5 == 4)
            start_s += 10e-3 * wh_rng_uniform(&rng);
        else
            start_s = 0.4 + (seconds - 2.0) * ((double)i + wh_rng_uniform(&rng)) / (double)activations;
        const unsigned copies = 3 + (unsigned)wh_rng_below(&rng, 6);
        ok = add_activation(scene, descriptor, start_s, copies, 10.0 + 20.0 * wh_rng_uniform(&rng), &rng) == WH_OK;
    }
    bench_air air = ok ? record(scene, seconds) : (bench_air){0};
    wh_scene_destroy(&scene);
    return air;
}

void bench_air_free(bench_air *air)
{
    free(air->samples);
    *air = (bench_air){0};
}
