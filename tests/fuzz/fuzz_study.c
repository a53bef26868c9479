/* Samples from outside through a whole study: nothing hangs, nothing leaves an array, what is told is well formed, and the same
 * samples give the same kinds in any blocks. Input: a byte for the format, one for the sample rate, one unused, one for the blocks
 * and for cutting the samples into two recordings, then samples. */
#include "fuzz_target.h"
#include "study.h"
#include "study_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLES_MAX 100000 /* what a fuzzer can do often enough */

static void insist(bool condition, const char *what)
{
    if (condition)
        return;
    fprintf(stderr, "broken promise: %s\n", what);
    abort();
}

typedef struct plan {
    wh_stream stream;
    const uint8_t *samples;
    size_t count, block;
    bool two;
} plan;

static void check_estimate(const wh_kind_estimate *kind)
{
    insist(isfinite(kind->chip_rate_hz.value) && isfinite(kind->chip_rate_hz.error) &&
               isfinite(kind->deviation_hz.value) && isfinite(kind->gap_most_s) && isfinite(kind->snr_median_db),
           "every number told is one");
    insist(kind->line_count <= WH_LINE_CANDIDATES_MAX && kind->carrier_count <= WH_KIND_CARRIERS_MAX,
           "counts in bounds");
    double sum = 0.0;
    for (size_t i = 0; i < kind->line_count; i++)
        sum += kind->line[i].probability;
    insist(kind->line_count == 0 || fabs(sum - 1.0) < 1e-6, "probabilities add up to one");
    const wh_frame_spec *frame = &kind->frame;
    insist(frame->preamble.count <= WH_PATTERN_MAX && frame->sync.count <= WH_PATTERN_MAX &&
               frame->end.count <= WH_PATTERN_MAX,
           "patterns fit a descriptor");
    insist(frame->bits_max == 0 ||
               (frame->bits_min >= 2 && frame->bits_min <= frame->bits_max && frame->bits_max <= WH_TABLE_BITS_MAX),
           "a payload that a descriptor may have");
}

static void check_table(wh_study *study, size_t k)
{
    const wh_frame_table *table = wh_study_kind(study, k);
    check_estimate(&table->kind);
    unsigned frames = 0;
    for (size_t r = 0; r < table->row_count; r++) {
        const wh_table_row *row = &table->rows[r], *before = r ? row - 1 : row;
        insist(row->length <= table->columns && table->columns <= WH_TABLE_BITS_MAX, "rows fit the columns");
        insist(row->copies >= 1, "a row has a copy at least");
        insist(row->recording < wh_burst_store_recordings(wh_study_store(study)), "a recording that exists");
        insist(row->recording > before->recording || (row->recording == before->recording && row->at_s >= before->at_s),
               "rows in order");
        for (unsigned i = 0; i < row->length; i++)
            insist(row->reliability[i] >= 0.0f && isfinite(row->reliability[i]), "reliabilities are numbers");
        frames += row->copies;
    }
    insist(frames == table->kind.frames, "every frame is in a row");
}

/* Everything that the study tells, as text: equal texts are equal studies. */
static void run(const plan *p, wh_text *told)
{
    wh_study *study = NULL;
    insist(wh_study_create(&study, NULL) == WH_OK, "a study");
    wh_burst_store *store = wh_study_store(study);
    const size_t bytes = wh_iq_bytes(p->stream.format), half = p->two ? p->count / 2 : p->count;
    for (size_t from = 0; from < p->count || from == 0; from += half ? half : 1) {
        const size_t to = from + half < p->count ? from + half : p->count;
        insist(wh_burst_store_begin_recording(store, "fuzz", NULL) == WH_OK, "a recording begins");
        insist(wh_burst_store_begin(store, &p->stream, NULL) == WH_OK, "a stretch begins");
        for (size_t at = from; at < to; at += p->block) {
            const size_t step = p->block < to - at ? p->block : to - at;
            insist(wh_burst_store_push(store, p->samples + at * bytes, step) == WH_OK, "samples are taken");
        }
        insist(wh_burst_store_finish(store) == WH_OK, "a recording ends");
        if (p->count == 0)
            break;
    }
    insist(wh_study_run(study, NULL) == WH_OK, "a study ends");
    wh_study_text_head(study, told);
    for (size_t k = 0; k < wh_study_kind_count(study); k++) {
        check_table(study, k);
        wh_study_text_kind(study, k, told);
        wh_study_text_frames(study, k, 100, told);
        wh_study_json_kind(study, k, told);
        wh_study_json_frames(study, k, told);
    }
    wh_study_text_strays(study, told);
    wh_study_json_strays(study, told);
    insist(!told->failed, "memory for the text");
    wh_study_destroy(&study);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const double rates[] = {225e3, 250e3, 300e3, 900e3, 1024e3, 2400e3, 3.2e6, 281234.5};
    if (size < 4)
        return 0;
    plan p = {.stream = {.format = (wh_iq_format)(data[0] % WH_IQ_FORMAT_COUNT),
                         .sample_rate_hz = rates[data[1] % (sizeof rates / sizeof rates[0])],
                         .centre_hz = data[0] & 0x80 ? 433.9e6 : 0.0,
                         .name = "fuzz"},
              .samples = data + 4,
              .two = (data[3] & 0x40) != 0};
    p.count = (size - 4) / wh_iq_bytes(p.stream.format);
    p.count = p.count < SAMPLES_MAX ? p.count : SAMPLES_MAX;
    wh_text whole = {0}, parts = {0};
    p.block = p.count + 1;
    run(&p, &whole);
    p.block = 1 + 97u * (data[3] & 0x3fu);
    run(&p, &parts);
    insist(whole.length == parts.length && memcmp(whole.data, parts.data, whole.length) == 0,
           "the same samples give the same study");
    wh_text_free(&whole);
    wh_text_free(&parts);
    return 0;
}
