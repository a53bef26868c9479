#include "bench_air.h"

#include "rng.h"
#include "synth_frame.h"
#include "synth_recording.h"
#include "synth_scene.h"

#include <math.h>
#include <stdlib.h>

#define NOISE (2.0 * 9.0 / (127.5 * 127.5)) /* 3 steps of the converter in each of I and Q */

static wh_status add_burst(wh_scene *scene, const wh_descriptor *descriptor, double start_s, wh_rng *rng)
{
    double carrier = 433.92e6;
    for (unsigned i = 0; i < descriptor->carrier_count; i++)
        if (fabs(descriptor->carriers_hz[i] - BENCH_CENTRE_HZ) < 0.4 * BENCH_RATE_HZ)
            carrier = descriptor->carriers_hz[i];
    wh_transmission t = {
        .descriptor = descriptor,
        .copies = 1,
        .start_s = start_s,
        .amplitude = wh_snr_amplitude(20.0, descriptor->radio.chip_rate_hz, NOISE, BENCH_RATE_HZ),
        .carrier_hz = carrier - BENCH_CENTRE_HZ + 220e3 * (wh_rng_uniform(rng) - 0.5),
        .rate_error = 0.06 * (wh_rng_uniform(rng) - 0.5),
    };
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    const wh_status status = wh_synth_frame(descriptor, NULL, 0, 0, site, &t.frame, NULL);
    return status == WH_OK ? wh_scene_add(scene, &t, NULL) : status;
}

bench_air bench_air_make(const wh_descriptor_set *set, double seconds, double bursts_per_s)
{
    bench_air air = {.count = (size_t)(seconds * BENCH_RATE_HZ), .bursts = (size_t)(seconds * bursts_per_s)};
    wh_rng rng;
    wh_rng_seed(&rng, 1);
    wh_scene *scene = wh_scene_create(2);
    bool ok = scene != NULL;
    for (size_t i = 0; ok && i < air.bursts; i++) {
        const double slot = (seconds - 0.7) / (double)air.bursts;
        const wh_descriptor *descriptor = wh_descriptor_set_at(set, i % wh_descriptor_set_count(set));
        ok = add_burst(scene, descriptor, 0.4 + slot * ((double)i + wh_rng_uniform(&rng)), &rng) == WH_OK;
    }
    size_t burst_count = 0;
    const wh_recording_burst *bursts = ok ? wh_scene_bursts(scene, &burst_count) : NULL;
    const wh_recording_spec spec = {
        .format = WH_IQ_CU8, .sample_rate_hz = BENCH_RATE_HZ, .samples = air.count, .noise_power = NOISE, .seed = 3};
    wh_recording *recording = NULL;
    air.samples = ok ? malloc(2 * air.count) : NULL;
    if (air.samples && wh_recording_create(&spec, bursts, burst_count, &recording, NULL) == WH_OK)
        air.count = wh_recording_read_native(recording, air.samples, air.count);
    else
        bench_air_free(&air);
    wh_recording_destroy(&recording);
    wh_scene_destroy(&scene);
    return air;
}

void bench_air_free(bench_air *air)
{
    free(air->samples);
    *air = (bench_air){0};
}
