/* Many bursts on one timeline, with noise and the faults of real receivers. */
#ifndef WH_SYNTH_RECORDING_H
#define WH_SYNTH_RECORDING_H

#include "synth_wave.h"
#include "wheelhark/iq.h"
#include "wheelhark/status.h"

typedef struct wh_recording_spec {
    wh_iq_format format;      /* of what wh_recording_read_native and wh_recording_write give */
    double sample_rate_hz;    /* WH_SAMPLE_RATE_MIN_HZ .. WH_SAMPLE_RATE_MAX_HZ */
    double centre_hz;         /* radio frequency at 0 Hz baseband; 0: unknown, not written */
    uint64_t samples;         /* length */
    double noise_power;       /* of complex white Gaussian noise over the whole sample rate; 1 = full scale, 0: none */
    double dc_i, dc_q;        /* constant added to every sample */
    double carrier_amplitude; /* a steady carrier; 0: none */
    double carrier_hz;        /* its baseband frequency */
    uint64_t seed;            /* of the noise */
    bool has_time;
    int64_t start_utc_us;    /* microseconds since 1970 UTC of the first sample */
    const char *description; /* for the metadata; NULL: none */
} wh_recording_spec;

typedef struct wh_recording_burst {
    wh_wave *wave;  /* owned by whoever made it; must outlive the recording */
    char label[24]; /* for the annotation; short */
    char comment[160];
} wh_recording_burst;

typedef struct wh_recording wh_recording;

/* Amplitude that gives `snr_db`: signal power while on over noise power in a band as wide as the chip rate. The noise
 * has `noise_power` over `sample_rate_hz`. */
double wh_snr_amplitude(double snr_db, double chip_rate_hz, double noise_power, double sample_rate_hz);

/* `bursts` must outlive the recording. */
wh_status wh_recording_create(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count,
                              wh_recording **out, wh_error *error);
void wh_recording_destroy(wh_recording **recording);
/* The next up to `capacity` samples as interleaved floats; returns how many, 0 at the end. The samples do not depend
 * on how they are divided into calls. */
size_t wh_recording_read(wh_recording *recording, float *iq, size_t capacity);
/* The same in the native format. */
size_t wh_recording_read_native(wh_recording *recording, void *samples, size_t capacity);
/* Samples beyond full scale so far, in wh_recording_read_native. */
uint64_t wh_recording_clipped(const wh_recording *recording);

/* Floats to native samples, rounded to nearest and limited to full scale; returns how many samples were limited. */
size_t wh_iq_from_float(wh_iq_format format, const float *iq, size_t count, void *samples);

/* Write everything from the first sample on as BASE.sigmf-data and BASE.sigmf-meta, with one annotation per burst.
 * Existing files are replaced; after a failure neither is left. *clipped may be NULL. */
wh_status wh_recording_write(const wh_recording_spec *spec, const wh_recording_burst *bursts, size_t burst_count,
                             const char *base, uint64_t *clipped, wh_error *error);

#endif
