#include "correlate.h"

#include "mixer.h"
#include "quad.h"
#include "wide.h"

#include <math.h>
#include <string.h>

#define BLOCK WH_MIXER_BLOCK
#define PIECE 64 /* boundaries at a time */

/* Real and imaginary parts apart: plain loops over them fill vector registers. */
typedef struct lanes {
    float re[BLOCK], im[BLOCK];
} lanes;

void wh_mix_down(const float complex *samples, size_t count, double radians, float complex *out)
{
    wh_mixer mixer;
    lanes mixed;
    wh_mixer_begin(&mixer, radians);
    float *to = (float *)out;
    for (size_t at = 0; at < count; at += BLOCK) {
        const size_t length = count - at < BLOCK ? count - at : BLOCK;
        wh_mixer_run(&mixer, samples + at, at, 0.5, length, mixed.re, mixed.im);
        for (size_t k = 0; k < length; k++) {
            to[2 * (at + k)] = mixed.re[k];
            to[2 * (at + k) + 1] = mixed.im[k];
        }
    }
}

/* Real and imaginary part for either tone, side by side in one register: what is done to a sample is done for both tones at once. */
static inline wh_quad swap_parts(wh_quad z)
{
    return WH_QUAD_PICK(z, z, 1, 0, 3, 2);
}

/* A complex number per tone as a factor: z times it is re z + im swap_parts(z). */
typedef struct factor {
    wh_quad re, im;
} factor;

typedef struct tone_table {
    factor turn[BLOCK]; /* exp(-j radians k) */
} tone_table;

static factor make_factor(float re_a, float im_a, float re_b, float im_b)
{
    return (factor){{re_a, re_a, re_b, re_b}, {-im_a, im_a, -im_b, im_b}};
}

static void fill_table(const double radians[2], unsigned tones, tone_table *table)
{
    wh_mixer mixer[2];
    for (unsigned v = 0; v < tones; v++)
        wh_mixer_begin(&mixer[v], radians[v]);
    const wh_mixer *a = &mixer[0], *b = &mixer[tones - 1];
    for (size_t k = 0; k < BLOCK; k++) /* as factors of 1 and j: the parts of a sample are real numbers */
        table->turn[k] = (factor){{a->re[k], a->im[k], b->re[k], b->im[k]}, {-a->im[k], a->re[k], -b->im[k], b->re[k]}};
}

/* sums[k] = x[0] + ... + x[k - 1], x being the samples turned by the table, sums[length] included; by fours, because a plain running
 * sum waits for each addition. */
WH_WIDE static void running_sums(const float *samples, size_t length, const tone_table *table, wh_quad *sums)
{
    wh_quad sum = {0.0f, 0.0f, 0.0f, 0.0f};
    size_t k = 0;
    for (; k + 4 <= length; k += 4) {
        wh_quad x[4];
        for (size_t i = 0; i < 4; i++)
            x[i] = samples[2 * (k + i)] * table->turn[k + i].re + samples[2 * (k + i) + 1] * table->turn[k + i].im;
        const wh_quad two = x[0] + x[1];
        sums[k] = sum;
        sums[k + 1] = sum + x[0];
        sums[k + 2] = sum + two;
        sums[k + 3] = sum + (two + x[2]);
        sum += two + (x[2] + x[3]);
    }
    for (; k < length; k++) {
        sums[k] = sum;
        sum += samples[2 * k] * table->turn[k].re + samples[2 * k + 1] * table->turn[k].im;
    }
    sums[length] = sum;
}

/* exp(-j radians (at + 1/2)) per tone: whole turns are taken off in double precision. */
static factor block_factor(const double radians[2], unsigned tones, size_t at)
{
    float re[2], im[2];
    for (unsigned v = 0; v < tones; v++) {
        const double turns = radians[v] / (2.0 * M_PI) * ((double)at + 0.5);
        const double phase = 2.0 * M_PI * (turns - (double)(long long)turns);
        re[v] = (float)cos(phase);
        im[v] = (float)-sin(phase);
    }
    return make_factor(re[0], im[0], re[tones - 1], im[tones - 1]);
}

typedef struct boundaries {
    double start, step;
    ptrdiff_t next, count; /* boundary to come; boundary j ends interval j - 1, of `count` */
    wh_quad
        last; /* integral from the block's start to the boundary before, if that is not in it; phase as in the output */
    float complex *a, *b;
} boundaries;

static inline void put(boundaries *at, ptrdiff_t j, wh_quad value)
{
    memcpy(at->a + j, &value, sizeof *at->a);
    memcpy(at->b + j, (const char *)&value + sizeof *at->a, sizeof *at->b);
}

static inline wh_quad times(wh_quad z, const factor *by)
{
    return z * by->re + swap_parts(z) * by->im;
}

/* The running integral between two samples. */
static inline wh_quad between(const wh_quad *sum, float part)
{
    return sum[0] + part * (sum[1] - sum[0]);
}

/* How many boundaries, PIECE at most, lie before sample `end`. */
static size_t boundaries_before(const boundaries *at, double end)
{
    const ptrdiff_t left = at->count + 1 - at->next;
    const double guess = ceil((end - at->start) / at->step) - (double)at->next;
    ptrdiff_t n = guess < (double)PIECE ? (ptrdiff_t)guess : PIECE;
    n = n < left ? n : left;
    while (n > 0 && at->start + at->step * (double)(at->next + n - 1) >= end) /* as rounded there */
        n--;
    return n > 0 ? (size_t)n : 0;
}

/* Whole samples from the block's start to each boundary, and the rest. */
WH_WIDE static void find_places(const boundaries *at, double from, size_t count, int *restrict whole,
                                float *restrict part)
{
    const double start = at->start, step = at->step;
    const int first = (int)at->next;
    for (int i = 0; i < (int)count; i++) {
        const double inside = start + step * (double)(first + i) - from;
        whole[i] = (int)inside;
        part[i] = (float)(inside - (double)whole[i]);
    }
}

/* The boundaries within a block that begins at `from` and ends at `end`. Only differences are turned to the phase of the output. */
WH_WIDE static void cut(boundaries *at, const wh_quad *sums, double from, double end, const factor *turn)
{
    const factor by = *turn;
    wh_quad before = {0.0f, 0.0f, 0.0f, 0.0f};
    for (size_t n; (n = boundaries_before(at, end)) > 0; at->next += (ptrdiff_t)n) {
        int whole[PIECE];
        float part[PIECE];
        find_places(at, from, n, whole, part);
        const wh_quad first = between(sums + whole[0], part[0]);
        if (at->next > 0)
            put(at, at->next - 1, times(first - before, &by) - at->last);
        at->last = (wh_quad){0.0f, 0.0f, 0.0f, 0.0f};
        before = first;
        float complex *a = at->a + at->next - 1, *b = at->b + at->next - 1;
        for (size_t i = 1; i < n; i++) {
            const wh_quad here = between(sums + whole[i], part[i]), value = times(here - before, &by);
            memcpy(a + i, &value, sizeof *a);
            memcpy(b + i, (const char *)&value + sizeof *a, sizeof *b);
            before = here;
        }
    }
    at->last += times(before - sums[(size_t)(end - from)], &by);
}

/* An integral is the difference of the running integral at two places; between samples that one is a straight line. It is counted
 * from each block's start, so that single precision does. */
void wh_correlate(const float complex *samples, size_t sample_count, const double radians[2], unsigned tones,
                  double start, double step, float complex *const out[2], size_t count)
{
    tone_table table;
    wh_quad sums[BLOCK + 1];
    const wh_quad nothing = {0.0f, 0.0f, 0.0f, 0.0f};
    boundaries at = {start, step, 0, (ptrdiff_t)count, nothing, out[0], out[tones - 1]};
    fill_table(radians, tones, &table);
    for (; at.next <= at.count && start + step * (double)at.next <= 0.0; at.next++)
        if (at.next > 0)
            put(&at, at.next - 1, nothing);
    const size_t first = start > 0.0 ? (size_t)fmin(start, (double)sample_count) / BLOCK * BLOCK : 0;
    for (size_t from = first; from < sample_count && at.next <= at.count; from += BLOCK) {
        const size_t length = sample_count - from < BLOCK ? sample_count - from : BLOCK;
        const factor turn = block_factor(radians, tones, from);
        running_sums((const float *)(samples + from), length, &table, sums);
        cut(&at, sums, (double)from, (double)(from + length), &turn);
    }
    for (; at.next <= at.count; at.next++) {
        if (at.next > 0)
            put(&at, at.next - 1, nothing - at.last);
        at.last = nothing;
    }
}

WH_WIDE static void add_ahead(float *x, size_t count, size_t ahead)
{
    for (size_t i = 0; i + ahead < count; i++)
        x[i] += x[i + ahead];
}

WH_WIDE static void square(const float *restrict x, size_t count, float scale, float *restrict power)
{
    for (size_t j = 0; j < count; j++)
        power[j] = (x[2 * j] * x[2 * j] + x[2 * j + 1] * x[2 * j + 1]) * scale;
}

void wh_sliding_power(float complex *parts, size_t count, size_t width, float scale, float *power)
{
    for (size_t have = 1; have < width; have *= 2) /* sums of one become sums of two, of four, ... */
        add_ahead((float *)parts, 2 * count, 2 * have);
    square((const float *)parts, count, scale, power);
}
