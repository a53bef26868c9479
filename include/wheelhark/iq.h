/* Complex baseband samples as they come from dongles and recordings. */
#ifndef WHEELHARK_IQ_H
#define WHEELHARK_IQ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Native sample formats; I first, then Q. Full scale is 1.0 after conversion. */
typedef enum wh_iq_format {
    WH_IQ_CU8,  /* unsigned bytes, zero at 127.5 (RTL2832U) */
    WH_IQ_CI8,  /* signed bytes, full scale 128 */
    WH_IQ_CI16, /* signed 16 bit little-endian, full scale 32768 */
    WH_IQ_CF32, /* IEEE 754 single little-endian, full scale 1.0 */
    WH_IQ_FORMAT_COUNT
} wh_iq_format;

/* Bytes of one complex sample: 2, 2, 4, 8. */
size_t wh_iq_bytes(wh_iq_format format);
/* SigMF spelling: "cu8", "ci8", "ci16_le", "cf32_le". */
const char *wh_iq_format_name(wh_iq_format format);
/* Accepts the SigMF spelling, and ci16 / cf32 without the suffix. */
bool wh_iq_format_parse(const char *text, wh_iq_format *format);

/* Convert `count` samples to interleaved floats out[2 * count], full scale 1.0. NaN and infinities
 * in cf32 input become 0. Returns how many samples had such values. Input need not be aligned. */
size_t wh_iq_to_float(wh_iq_format format, const void *samples, size_t count, float *out);

/* One stretch of samples taken with one setting of the receiver: a SigMF capture, a file, a live run. */
typedef struct wh_stream {
    wh_iq_format format;
    double sample_rate_hz; /* 225e3 .. 3.2e6 */
    double centre_hz;      /* radio frequency at 0 Hz baseband; 0 when unknown */
    double start_s;        /* start of this stretch in seconds from the start of the recording */
    bool has_time;         /* is start_utc_us known? */
    int64_t start_utc_us;  /* microseconds since 1970-01-01T00:00:00Z of the first sample of the stretch */
    char name[128];        /* what readings call the source: file name without folders, or the device */
} wh_stream;

#define WH_SAMPLE_RATE_MIN_HZ 225e3
#define WH_SAMPLE_RATE_MAX_HZ 3.2e6

#endif
