/* Run a source to its end and hold it to what source.h promises. */
#ifndef WH_FUZZ_DRAIN_H
#define WH_FUZZ_DRAIN_H

#include "source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static inline void fuzz_insist(bool holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

/* Sum over all bytes delivered, so that a sanitizer sees every one of them read. */
static volatile unsigned fuzz_sum;

/* Takes the source over. `bytes_max`: more than these can never come out. */
static inline void fuzz_drain(wh_source *source, uint64_t bytes_max)
{
    wh_stream stream = {.format = WH_IQ_CU8};
    bool begun = false;
    uint64_t bytes = 0;
    for (;;) {
        wh_source_event event;
        wh_error error;
        const wh_status status = wh_source_next(source, &event, &error);
        fuzz_insist(status == error.status, "the error tells the status");
        fuzz_insist((status == WH_OK) == (error.what[0] == '\0'), "every failure has words");
        if (status != WH_OK || event.kind == WH_SOURCE_END)
            break;
        if (event.kind == WH_SOURCE_STREAM) {
            stream = event.stream;
            begun = true;
            fuzz_insist(stream.sample_rate_hz >= WH_SAMPLE_RATE_MIN_HZ &&
                            stream.sample_rate_hz <= WH_SAMPLE_RATE_MAX_HZ,
                        "a rate in range");
            fuzz_insist(stream.start_s >= 0, "a start that is a number");
        } else if (event.kind == WH_SOURCE_SAMPLES) {
            fuzz_insist(begun && event.count > 0, "samples within a stretch");
            const uint8_t *samples = event.samples;
            for (size_t i = 0; i < event.count * wh_iq_bytes(stream.format); i++)
                fuzz_sum += samples[i];
            bytes += event.count * wh_iq_bytes(stream.format);
            fuzz_insist(bytes <= bytes_max, "no more samples than there are bytes");
        } else if (event.kind == WH_SOURCE_NOTICE) {
            fuzz_insist(event.notice.status != WH_OK && event.notice.what[0], "a notice says something");
        }
    }
    wh_source_destroy(&source);
}

#endif
