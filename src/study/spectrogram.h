/* A recording's power over time and frequency, in a bounded picture: however long the recording is, columns are joined, each keeping the
 * strongest of what it stands for, so that short bursts stay visible. */
#ifndef WH_SPECTROGRAM_H
#define WH_SPECTROGRAM_H

#include "text_buffer.h"
#include "wheelhark/iq.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_SPECTROGRAM_BINS    128
#define WH_SPECTROGRAM_COLUMNS 512 /* between half as many and so many, for recordings that are long enough */

typedef struct wh_spectrogram wh_spectrogram;

wh_spectrogram *wh_spectrogram_create(void); /* NULL when memory is out */
void wh_spectrogram_destroy(wh_spectrogram **spectrogram);
void wh_spectrogram_push(wh_spectrogram *spectrogram, wh_iq_format format, const void *samples, size_t count);
uint64_t wh_spectrogram_samples(const wh_spectrogram *spectrogram);
/* The bin of `frequency` (share of the sample rate, -0.5..0.5) and the column of `sample`: mean power, full scale 1. */
double wh_spectrogram_power(const wh_spectrogram *spectrogram, uint64_t sample, double frequency);

/* Where a burst was heard. */
typedef struct wh_spectrogram_mark {
    uint64_t from, to;      /* samples */
    double low_hz, high_hz; /* from the centre */
    size_t number;          /* written beside it */
} wh_spectrogram_mark;

#define WH_SPECTROGRAM_MARKS_MAX 200

/* One SVG with the picture inside; of the marks the first WH_SPECTROGRAM_MARKS_MAX. */
void wh_spectrogram_svg(const wh_spectrogram *spectrogram, const char *title, double rate_hz,
                        const wh_spectrogram_mark *marks, size_t mark_count, wh_text *svg);

#endif
