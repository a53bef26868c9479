/* The last few seconds of samples, and one burst with its surroundings cut out of them as a small recording. */
#ifndef WH_SAMPLE_MEMORY_H
#define WH_SAMPLE_MEMORY_H

#include "text_buffer.h"
#include "wheelhark/iq.h"
#include "wheelhark/reading.h"

typedef struct wh_sample_memory wh_sample_memory;

/* NULL when memory is out. */
wh_sample_memory *wh_sample_memory_create(void);
void wh_sample_memory_destroy(wh_sample_memory **memory);

/* The samples as they come. Samples that were lost end a stretch: call wh_sample_memory_stretch again with what follows. Failures
 * of memory only mean that nothing can be cut out. */
void wh_sample_memory_stretch(wh_sample_memory *memory, const wh_stream *stream);
void wh_sample_memory_samples(wh_sample_memory *memory, const void *samples, size_t count);

/* A burst as a recording of its own. */
typedef struct wh_burst_cut {
    wh_burst burst;
    wh_stream stream; /* of the cut: its first sample's time */
    uint64_t start;   /* of the burst, in samples of the cut */
    uint64_t length;  /* of the burst, in samples */
    void *samples;    /* [count] in the stream's format, owned */
    size_t count;
} wh_burst_cut;

/* What came before the burst is part of the cut: who studies it learns the noise first. False when it is no longer remembered, or
 * memory is out; then there is nothing to free. */
bool wh_sample_memory_cut(const wh_sample_memory *memory, const wh_burst *burst, wh_burst_cut *cut);
bool wh_burst_cut_copy(const wh_burst_cut *cut, wh_burst_cut *copy);
void wh_burst_cut_free(wh_burst_cut *cut);
size_t wh_burst_cut_bytes(const wh_burst_cut *cut); /* of its samples */

/* What a .sigmf-meta file says of it; `label` is the burst's, of at most 20 characters. */
void wh_burst_cut_meta(wh_text *text, const wh_burst_cut *cut, const char *recorder, const char *label);

#endif
