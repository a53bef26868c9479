#include "frame_rows.h"

#include "frame_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A copy begins at most so long after the end of the one before: what descriptors take without a word. */
#define COPY_WINDOW_S 0.5
#define SURE          4.0f /* |llr| of a bit that is wrong once in fifty */
#define LLR_BOUND     60.0f
#define DOUBT_LEAST   2.0f /* mean |llr| of a frame's bits below which it is noise */
/* Gaps between copies of one activation differ by less, even where they are drawn at random on purpose. */
#define GAP_SPREAD  1.8
#define GAP_SLACK_S 0.005
#define FRAMES_MAX  16384

typedef struct found_frame {
    size_t burst;
    unsigned recording;
    double start_s, end_s, carrier_hz, snr_db, level_dbfs;
    unsigned bits, preamble_chips;
    float soft[WH_PAYLOAD_MAX];
} found_frame;

typedef struct gathering {
    const wh_study_burst *burst;
    size_t index;
    const wh_chips *chips;
    const wh_framing *framing;
    found_frame *frames;
    size_t count, capacity, first_of_burst;
    unsigned emissions;
    bool failed;
} gathering;

static bool grow(gathering *g)
{
    if (g->count < g->capacity)
        return true;
    const size_t capacity = g->capacity ? 2 * g->capacity : 64;
    found_frame *larger = capacity <= FRAMES_MAX ? realloc(g->frames, capacity * sizeof *larger) : NULL;
    if (!larger) {
        g->failed = g->failed || capacity <= FRAMES_MAX;
        return false;
    }
    g->frames = larger;
    g->capacity = capacity;
    return true;
}

static bool take_frame(void *context, const wh_frame_try *found)
{
    gathering *g = context;
    float sum = 0.0f;
    for (unsigned i = 0; i < found->bits; i++)
        sum += fabsf(found->soft[i]);
    if (sum < DOUBT_LEAST * (float)found->bits || !grow(g))
        return false;
    const wh_chips *chips = g->chips;
    const double start = g->burst->at_s + chips->start_s;
    /* The whole preamble belongs to the frame, as far as it was heard. */
    const size_t sync = found->payload_chip - found->sync_chips;
    const size_t preamble = g->framing->preamble_chips;
    size_t first = sync > preamble ? sync - preamble : 0;
    first = first < chips->first ? chips->first : first;
    found_frame frame = {
        .burst = g->index,
        .recording = g->burst->recording,
        .start_s = start + chips->chip_s * (double)first,
        .end_s = start + chips->chip_s * (double)(found->end_chip + found->end_chips),
        .carrier_hz = g->burst->centre_hz + chips->carrier_hz,
        .snr_db = chips->snr_db,
        .level_dbfs = 20.0 * log10(fmax((double)chips->amplitude, 1e-7)),
        .bits = found->bits,
        .preamble_chips = (unsigned)(sync - first),
    };
    for (size_t i = g->first_of_burst; i < g->count; i++)
        if (g->frames[i].start_s < frame.end_s && frame.start_s < g->frames[i].end_s)
            return false; /* another hypothesis of the tones has it already */
    memcpy(frame.soft, found->soft, found->bits * sizeof *frame.soft);
    g->frames[g->count++] = frame;
    return true;
}

static void take_chips(void *context, const wh_chips *chips)
{
    gathering *g = context;
    g->chips = chips;
    g->emissions++;
    wh_frame_search(g->framing, chips, take_frame, g);
}

static int by_time(const void *a, const void *b)
{
    const found_frame *x = a, *y = b;
    if (x->recording != y->recording)
        return x->recording < y->recording ? -1 : 1;
    return (x->start_s > y->start_s) - (x->start_s < y->start_s);
}

/* Copies of one frame say the same wherever both are sure, and nearly everywhere else. */
static bool same_content(const found_frame *a, const found_frame *b, double chip_rate_hz)
{
    if (a->recording != b->recording || a->bits != b->bits || fabs(a->carrier_hz - b->carrier_hz) > 0.5 * chip_rate_hz)
        return false;
    unsigned sure = 0, differ = 0;
    for (unsigned i = 0; i < a->bits; i++) {
        const bool apart = (a->soft[i] > 0.0f) != (b->soft[i] > 0.0f);
        differ += apart;
        sure += apart && fabsf(a->soft[i]) > SURE && fabsf(b->soft[i]) > SURE;
    }
    return sure == 0 && differ * 8 <= a->bits;
}

static void start_row(const found_frame *frame, wh_burst_store *store, wh_table_row *row)
{
    const wh_study_recording *recording = wh_burst_store_recording(store, frame->recording);
    const wh_study_burst *burst = wh_burst_store_at(store, frame->burst);
    const double later = frame->start_s - burst->at_s;
    *row = (wh_table_row){
        .length = frame->bits,
        .at_s = frame->start_s,
        .has_time = burst->has_time,
        .at_utc_us = burst->at_utc_us + (int64_t)llround(later * 1e6),
        .recording = frame->recording,
        .sample = burst->sample + (uint64_t)llround(fmax(0.0, later) * recording->sample_rate_hz),
        .level_dbfs = frame->level_dbfs,
        .snr_db = frame->snr_db,
        .carrier_hz = frame->carrier_hz,
    };
}

static void add_copy(const found_frame *frame, float *soft, wh_table_row *row)
{
    for (unsigned i = 0; i < frame->bits; i++)
        soft[i] += fminf(fmaxf(frame->soft[i], -LLR_BOUND), LLR_BOUND);
    if (row->copies == 0 || frame->snr_db > row->snr_db) {
        row->snr_db = frame->snr_db;
        row->level_dbfs = frame->level_dbfs;
        row->carrier_hz = frame->carrier_hz;
    }
    row->copies++;
}

static void close_row(const float *soft, wh_table_row *row)
{
    for (unsigned i = 0; i < row->length; i++) {
        if (soft[i] > 0.0f)
            row->bits[i / 8] = (uint8_t)(row->bits[i / 8] | 0x80u >> i % 8);
        row->reliability[i] = fabsf(soft[i]);
    }
}

static int by_number(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A lost copy makes a gap longer by a frame and another gap: those do not count. */
static void usual_gaps(double *gap, size_t count, wh_kind_estimate *kind)
{
    if (count == 0)
        return;
    qsort(gap, count, sizeof *gap, by_number);
    size_t last = count - 1;
    while (last > 0 && gap[last] > GAP_SPREAD * gap[count / 4] + GAP_SLACK_S)
        last--;
    kind->gap_least_s = gap[0];
    kind->gap_most_s = gap[last];
}

/* Frames in order of time into rows; gaps between copies on the way. */
static bool merge(gathering *g, wh_burst_store *store, wh_frame_table *table)
{
    wh_kind_estimate *kind = &table->kind;
    bool *used = calloc(g->count + 1, sizeof *used);
    table->rows = calloc(g->count + 1, sizeof *table->rows);
    if (!used || !table->rows) {
        free(used);
        return false;
    }
    double *gap = calloc(g->count + 1, sizeof *gap);
    size_t gaps = 0;
    for (size_t i = 0; gap && i < g->count; i++) {
        if (used[i])
            continue;
        wh_table_row *row = &table->rows[table->row_count++];
        float soft[WH_PAYLOAD_MAX] = {0.0f};
        start_row(&g->frames[i], store, row);
        add_copy(&g->frames[i], soft, row);
        const found_frame *last = &g->frames[i];
        for (size_t j = i + 1; j < g->count && g->frames[j].recording == last->recording &&
                               g->frames[j].start_s < last->end_s + COPY_WINDOW_S;
             j++) {
            if (used[j] || !same_content(&g->frames[i], &g->frames[j], kind->radio.chip_rate_hz))
                continue;
            used[j] = true;
            add_copy(&g->frames[j], soft, row);
            gap[gaps++] = fmax(0.0, g->frames[j].start_s - last->end_s);
            last = &g->frames[j];
        }
        close_row(soft, row);
    }
    usual_gaps(gap, gaps, kind);
    free(used);
    free(gap);
    return gap != NULL;
}

static void count_copies(wh_frame_table *table)
{
    unsigned histogram[256] = {0}, best = 0;
    for (size_t i = 0; i < table->row_count; i++)
        histogram[table->rows[i].copies < 255 ? table->rows[i].copies : 255]++;
    for (unsigned n = 1; n < 256; n++)
        if (histogram[n] > histogram[best] || best == 0)
            best = n;
    table->kind.copies = table->row_count ? best : 0;
    const unsigned share = table->row_count ? (unsigned)(100 * histogram[best] / table->row_count) : 0;
    if (best == 1) /* equal frames one after the other were activations without news, not copies */
        table->kind.gap_least_s = table->kind.gap_most_s = 0.0;
    table->kind.copies_certainty = table->row_count < 3 ? WH_OPEN : share >= 70 ? WH_CERTAIN : WH_LIKELY;
}

static void sum_up(const gathering *g, wh_frame_table *table)
{
    wh_kind_estimate *kind = &table->kind;
    kind->frames = (unsigned)g->count;
    kind->emissions = g->emissions;
    if (g->count == 0)
        return;
    double *snr = malloc(g->count * sizeof *snr);
    kind->fewest_preamble_chips = g->frames[0].preamble_chips;
    kind->most_preamble_chips = 0;
    for (size_t i = 0; i < g->count; i++) {
        const unsigned heard = g->frames[i].preamble_chips;
        kind->fewest_preamble_chips = heard < kind->fewest_preamble_chips ? heard : kind->fewest_preamble_chips;
        kind->most_preamble_chips = heard > kind->most_preamble_chips ? heard : kind->most_preamble_chips;
        if (snr)
            snr[i] = g->frames[i].snr_db;
    }
    if (!snr)
        return;
    qsort(snr, g->count, sizeof *snr, by_number);
    kind->snr_least_db = snr[0];
    kind->snr_median_db = snr[g->count / 2];
    free(snr);
}

wh_demod_limits wh_frame_rows_limits(const wh_kind_estimate *kind)
{
    wh_framing framing;
    wh_framing_make(&kind->line[0].line, &kind->frame, &framing);
    return (wh_demod_limits){.shortest_chips = (unsigned)framing.shortest_chips,
                             .longest_chips = (unsigned)framing.longest_chips,
                             .zero_run = framing.zero_run};
}

bool wh_frame_rows_fill(wh_burst_store *store, wh_demod *demod, const size_t *member, size_t count, int number,
                        wh_frame_table *table)
{
    wh_framing framing;
    wh_framing_make(&table->kind.line[0].line, &table->kind.frame, &framing);
    const wh_demod_limits limits = wh_frame_rows_limits(&table->kind);
    gathering g = {.framing = &framing};
    for (size_t i = 0; i < count && !g.failed; i++) {
        g.index = member[i];
        g.burst = wh_burst_store_at(store, member[i]);
        g.first_of_burst = g.count;
        const wh_baseband baseband = wh_study_baseband(g.burst);
        if (wh_demod_load(demod, &baseband) == WH_DEMOD_OK)
            g.failed |= wh_demod_run(demod, &table->kind.radio, &limits, take_chips, &g) == WH_DEMOD_NO_MEMORY;
        if (g.count > g.first_of_burst) {
            wh_burst_store_at(store, member[i])->kind = number;
            table->kind.bursts++;
        }
    }
    if (g.count > 0)
        qsort(g.frames, g.count, sizeof *g.frames, by_time);
    table->columns = table->kind.frame.bits_max;
    bool good = !g.failed && merge(&g, store, table);
    sum_up(&g, table);
    count_copies(table);
    free(g.frames);
    return good;
}
