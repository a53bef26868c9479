#include "bench_stages.h"

#include "bench_fleet.h"
#include "burst_work.h"
#include "catalog.h"
#include "demod.h"
#include "detect.h"
#include "isolate.h"
#include "spectra.h"
#include "wheelhark/receiver.h"

#include <fftw3.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define FFT_SIZE  512
#define FFT_BATCH 16
#define CHUNK     4096  /* samples converted at a time, as in the receiver */
#define PUSH      65536 /* samples given to the receiver at a time, as from a file */
#define BURSTS    24    /* bursts kept for the stages on bursts */

#define YARD_SECONDS  30.0 /* 20 activations */
#define STORM_SECONDS 2.0

struct bench_bench {
    const wh_descriptor_set *descriptors;
    double seconds;
    wh_descriptor_set *twenty, *few, *many; /* made at the first need, as is the air */
    wh_catalog *catalog;
    bench_air air[BENCH_TRAFFICS];
    float *floats; /* [2 x air[0].count] */
    size_t count;
    fftwf_plan plan;
    fftwf_complex *spectrum;
    size_t outline_count;
    wh_outline outline[BURSTS]; /* in air[1] */
    wh_burst_job *job[BURSTS];
};

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bench_time start(void)
{
    return (bench_time){.cpu_s = now(CLOCK_PROCESS_CPUTIME_ID), .wall_s = now(CLOCK_MONOTONIC)};
}

static void stop(bench_time *time, double samples, double bursts)
{
    *time =
        (bench_time){now(CLOCK_PROCESS_CPUTIME_ID) - time->cpu_s, now(CLOCK_MONOTONIC) - time->wall_s, samples, bursts};
}

static void keep_outline(void *context, const wh_outline *outline)
{
    bench_bench *bench = context;
    if (bench->outline_count < BURSTS)
        bench->outline[bench->outline_count++] = *outline;
}

static bool push_detector(bench_bench *bench, const bench_air *air, wh_outline_fn found)
{
    const wh_detector_config config = {.sample_rate_hz = BENCH_RATE_HZ,
                                       .pause_s = bench->catalog->pause_s,
                                       .longest_s = 4.0 * bench->catalog->longest_s};
    wh_detector *detector = wh_detector_create(&config, found, bench);
    if (!detector)
        return false;
    for (size_t done = 0; done < air->count; done += CHUNK)
        wh_detector_push_native(detector, WH_IQ_CU8, air->samples + 2 * done,
                                air->count - done < CHUNK ? air->count - done : CHUNK);
    wh_detector_finish(detector);
    wh_detector_destroy(&detector);
    return true;
}

/* One burst of air[1] out of the band, as the receiver does it. */
static wh_burst_job *isolate(wh_isolator *isolator, const bench_air *air, const wh_outline *outline, float *slice)
{
    const unsigned factor = wh_isolator_factor(isolator);
    const size_t margin = wh_isolator_margin(isolator);
    const size_t wanted = (size_t)(outline->end - outline->start) / factor * factor, all = wanted + 2 * margin;
    const size_t most = WH_ISOLATOR_STEP / factor * factor;
    wh_burst_job *job = wh_burst_job_create(wanted / factor + 1);
    if (!job || outline->start < margin)
        return job;
    job->rate_hz = BENCH_RATE_HZ / factor;
    job->noise_density = outline->noise_density;
    job->half_width_hz = 0.5 * outline->width_hz;
    wh_isolator_begin(isolator, outline->centre_hz);
    for (size_t done = 0, step; done < all; done += step) {
        step = all - done < most ? all - done : most;
        const size_t at = (size_t)outline->start - margin + done, there = at < air->count ? air->count - at : 0;
        memset(slice, 0, 2 * step * sizeof *slice);
        wh_iq_to_float(WH_IQ_CU8, air->samples + 2 * at, there < step ? there : step, slice);
        job->count +=
            wh_isolator_feed(isolator, (const float complex *)(const void *)slice, step, job->samples + job->count);
    }
    return job;
}

static bool find_bursts(bench_bench *bench)
{
    bench_time unused;
    return push_detector(bench, &bench->air[1], keep_outline) && bench_isolation(bench, &unused);
}

static bool load_sets(bench_bench *bench, const char *protocols)
{
    bench->twenty = wh_descriptor_set_create();
    bench->few = wh_descriptor_set_create();
    bench->many = wh_descriptor_set_create();
    if (!bench->twenty || !bench->few || !bench->many ||
        wh_descriptor_set_load_folder(bench->twenty, protocols, NULL, NULL) != WH_OK)
        return false;
    const size_t shipped = wh_descriptor_set_count(bench->twenty);
    return shipped <= 20 && bench_fleet_add(bench->twenty, 20 - (unsigned)shipped) && bench_fleet_add(bench->few, 10) &&
           bench_fleet_add(bench->many, 200);
}

static const wh_descriptor_set *set_for(const bench_bench *bench, bench_traffic traffic)
{
    switch (traffic) {
    case BENCH_YARD: return bench->twenty;
    case BENCH_FEW:
    case BENCH_FEW_WEAK: return bench->few;
    case BENCH_MANY:
    case BENCH_MANY_WEAK: return bench->many;
    default: return bench->descriptors;
    }
}

/* NULL when memory is out. */
static const bench_air *air_for(bench_bench *bench, bench_traffic traffic)
{
    static const double bursts_per_s[BENCH_TRAFFICS] = {
        [BENCH_SPARSE] = 2.0, [BENCH_DENSE] = 20.0, [BENCH_FEW] = 4.0, [BENCH_FEW_WEAK] = 4.0, [BENCH_STORM] = 1000.0};
    const bench_traffic made = traffic == BENCH_MANY        ? BENCH_FEW
                               : traffic == BENCH_MANY_WEAK ? BENCH_FEW_WEAK
                                                            : traffic;
    bench_air *air = &bench->air[made];
    if (!air->samples)
        *air = made == BENCH_YARD
                   ? bench_air_yard(set_for(bench, made), YARD_SECONDS)
                   : bench_air_make(set_for(bench, made), made == BENCH_STORM ? STORM_SECONDS : bench->seconds,
                                    bursts_per_s[made], made == BENCH_FEW_WEAK ? 10.0 : 20.0);
    return air->samples ? air : NULL;
}

bench_bench *bench_create(const wh_descriptor_set *descriptors, const char *protocols, double seconds)
{
    bench_bench *bench = calloc(1, sizeof *bench);
    if (!bench)
        return NULL;
    bench->descriptors = descriptors;
    bench->seconds = seconds;
    bench->catalog = wh_catalog_create(descriptors);
    bool ok =
        bench->catalog && load_sets(bench, protocols) && air_for(bench, BENCH_NONE) && air_for(bench, BENCH_SPARSE);
    bench->count = bench->air[0].count;
    bench->floats = ok ? fftwf_malloc(2 * bench->count * sizeof(float)) : NULL;
    bench->spectrum = fftwf_malloc(FFT_SIZE * FFT_BATCH * sizeof *bench->spectrum);
    ok = ok && bench->floats && bench->spectrum;
    const int size = FFT_SIZE;
    if (ok)
        bench->plan = fftwf_plan_many_dft(1, &size, FFT_BATCH, (fftwf_complex *)bench->floats, NULL, 1, FFT_SIZE,
                                          bench->spectrum, NULL, 1, FFT_SIZE, FFTW_FORWARD, FFTW_MEASURE);
    ok = ok && bench->plan;
    if (ok) /* after planning, which overwrites its arrays */
        wh_iq_to_float(WH_IQ_CU8, bench->air[0].samples, bench->count, bench->floats);
    if (!ok || !find_bursts(bench))
        bench_destroy(&bench);
    return bench;
}

void bench_destroy(bench_bench **bench)
{
    if (!*bench)
        return;
    for (unsigned i = 0; i < BENCH_TRAFFICS; i++)
        bench_air_free(&(*bench)->air[i]);
    for (unsigned i = 0; i < BURSTS; i++)
        wh_burst_job_destroy(&(*bench)->job[i]);
    wh_catalog_destroy(&(*bench)->catalog);
    wh_descriptor_set_destroy(&(*bench)->twenty);
    wh_descriptor_set_destroy(&(*bench)->few);
    wh_descriptor_set_destroy(&(*bench)->many);
    if ((*bench)->plan)
        fftwf_destroy_plan((*bench)->plan);
    fftwf_free((*bench)->floats);
    fftwf_free((*bench)->spectrum);
    free(*bench);
    *bench = NULL;
}

/* In the cache, over the same batch again and again: what is measured is transforming, not fetching floats from memory, which
 * would more than double the yardstick. */
bool bench_fft(bench_bench *bench, bench_time *time)
{
    const size_t step = FFT_SIZE * FFT_BATCH;
    size_t done = 0;
    *time = start();
    for (; done + step <= bench->count; done += step)
        fftwf_execute_dft(bench->plan, (fftwf_complex *)bench->floats, bench->spectrum);
    stop(time, (double)done, 0.0);
    return true;
}

bool bench_conversion(bench_bench *bench, bench_time *time)
{
    float *chunk = malloc(2 * CHUNK * sizeof *chunk);
    if (!chunk)
        return false;
    *time = start();
    for (size_t done = 0; done + CHUNK <= bench->count; done += CHUNK)
        wh_iq_to_float(WH_IQ_CU8, bench->air[0].samples + 2 * done, CHUNK, chunk);
    stop(time, (double)bench->count, 0.0);
    free(chunk);
    return true;
}

static void drop_spectrum(void *context, const float *spectrum)
{
    *(volatile float *)context = spectrum[0];
}

bool bench_spectra(bench_bench *bench, bench_time *time)
{
    float sink = 0.0f;
    wh_spectra *spectra = wh_spectra_create(wh_spectra_size(BENCH_RATE_HZ), drop_spectrum, &sink);
    if (!spectra)
        return false;
    *time = start();
    for (size_t done = 0; done + CHUNK <= bench->count; done += CHUNK)
        wh_spectra_push(spectra, WH_IQ_CU8, bench->air[0].samples + 2 * done, CHUNK);
    stop(time, (double)bench->count, 0.0);
    wh_spectra_destroy(&spectra);
    return true;
}

static void drop_outline(void *context, const wh_outline *outline)
{
    (void)context;
    (void)outline;
}

bool bench_detector(bench_bench *bench, bench_time *time)
{
    *time = start();
    const bool ok = push_detector(bench, &bench->air[0], drop_outline);
    stop(time, (double)bench->air[0].count, 0.0);
    return ok;
}

bool bench_isolation(bench_bench *bench, bench_time *time)
{
    wh_isolator *isolator = wh_isolator_create(BENCH_RATE_HZ);
    float *slice = malloc(2 * WH_ISOLATOR_STEP * sizeof *slice);
    bool ok = isolator && slice;
    double samples = 0.0;
    *time = start();
    for (size_t i = 0; ok && i < bench->outline_count; i++) {
        wh_burst_job_destroy(&bench->job[i]);
        bench->job[i] = isolate(isolator, &bench->air[1], &bench->outline[i], slice);
        ok = bench->job[i] != NULL;
        samples += (double)(bench->outline[i].end - bench->outline[i].start);
    }
    stop(time, samples, (double)bench->outline_count);
    wh_isolator_destroy(&isolator);
    free(slice);
    return ok;
}

static void drop_chips(void *context, const wh_chips *chips)
{
    (void)context;
    (void)chips;
}

static double burst_samples(const bench_bench *bench)
{
    double samples = 0.0;
    for (size_t i = 0; i < bench->outline_count; i++)
        samples += (double)(bench->outline[i].end - bench->outline[i].start);
    return samples;
}

bool bench_demodulation(bench_bench *bench, bench_time *time)
{
    wh_demod *demod = wh_demod_create();
    if (!demod)
        return false;
    bool ok = true;
    *time = start();
    for (size_t i = 0; i < bench->outline_count; i++) {
        const wh_burst_job *job = bench->job[i];
        const wh_baseband baseband = {.samples = job->samples,
                                      .count = job->count,
                                      .rate_hz = job->rate_hz,
                                      .noise_density = job->noise_density,
                                      .half_width_hz = job->half_width_hz};
        if (wh_demod_load(demod, &baseband) != WH_DEMOD_OK)
            continue;
        for (size_t r = 0; r < bench->catalog->radio_count; r++)
            ok &= wh_demod_run(demod, &bench->catalog->radios[r].radio, &bench->catalog->radios[r].limits, drop_chips,
                               NULL) != WH_DEMOD_NO_MEMORY;
    }
    stop(time, burst_samples(bench), (double)bench->outline_count);
    wh_demod_destroy(&demod);
    return ok;
}

bool bench_burst_work(bench_bench *bench, bench_time *time)
{
    wh_burst_worker *worker = wh_burst_worker_create(bench->catalog);
    if (!worker)
        return false;
    *time = start();
    for (size_t i = 0; i < bench->outline_count; i++)
        wh_burst_worker_run(worker, bench->job[i]);
    stop(time, burst_samples(bench), (double)bench->outline_count);
    wh_burst_worker_destroy(&worker);
    return true;
}

bool bench_pipeline(bench_bench *bench, bench_traffic traffic, unsigned threads, bench_time *time)
{
    const bench_air *air = air_for(bench, traffic);
    if (!air)
        return false;
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = threads;
    const wh_receiver_sink sink = {0};
    const wh_stream stream = {
        .format = WH_IQ_CU8, .sample_rate_hz = BENCH_RATE_HZ, .centre_hz = BENCH_CENTRE_HZ, .name = "bench"};
    wh_receiver *receiver = NULL;
    bool ok = wh_receiver_create(&config, set_for(bench, traffic), &sink, &receiver, NULL) == WH_OK;
    *time = start();
    ok = ok && wh_receiver_begin(receiver, &stream, NULL) == WH_OK;
    for (size_t done = 0; ok && done < air->count; done += PUSH)
        ok = wh_receiver_push(receiver, air->samples + 2 * done, air->count - done < PUSH ? air->count - done : PUSH) ==
             WH_OK;
    ok = ok && wh_receiver_finish(receiver) == WH_OK;
    wh_receiver_stats stats = {0};
    if (ok)
        wh_receiver_get_stats(receiver, &stats);
    stop(time, (double)air->count, (double)stats.bursts);
    wh_receiver_destroy(&receiver);
    return ok;
}
