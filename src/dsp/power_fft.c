#include "power_fft.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

/* Size = rows x LANES, sample n = LANES r + l in row r and lane l, bin b = k + rows j:
 *     X[k + rows j] = sum over l of exp(-2 pi i l j / LANES) exp(-2 pi i l k / size) (sum over r of x[LANES r + l] exp(-2 pi i r k / rows)),
 * transforms down the columns, a turn of every value, and transforms across the lanes. Down the columns all lanes do the same. */
#define LANES     8
#define ALIGNMENT 32
/* Between the arrays: at distances of whole pages, reads would wait for writes they have nothing to do with. */
#define APART     (3 * LANES)
#define SQRT_HALF 0.70710678118654752f

struct wh_power_fft {
    size_t size;
    float *work;       /* real and imaginary parts, twice, each APART from the next */
    float *turns;      /* of the first pass */
    float *lane_turns; /* [LANES x rows] cosines, then as many sines, of -2 pi l k / size */
    void (*add)(const wh_power_fft *fft, float *sum);
};

/* 8 to 64 rows are one pass of eights, or two passes of eights and fours. */
static inline size_t first_radix(size_t rows)
{
    return rows == 16 ? 4 : 8;
}

#define INLINE static inline __attribute__((always_inline))

typedef float four_floats __attribute__((vector_size(16)));
typedef float eight_floats __attribute__((vector_size(32)));

INLINE void turn_by_fours(const float *from, four_floats *to)
{
    for (size_t corner = 0; corner < 4; corner++) {
        const size_t row = corner / 2 * 4, column = corner % 2 * 4;
        const four_floats *const at = (const four_floats *)(const void *)(from + LANES * row + column);
        const four_floats a = at[0], b = at[2], c = at[4], d = at[6];
        const four_floats ab_low = __builtin_shufflevector(a, b, 0, 4, 1, 5);
        const four_floats ab_high = __builtin_shufflevector(a, b, 2, 6, 3, 7);
        const four_floats cd_low = __builtin_shufflevector(c, d, 0, 4, 1, 5);
        const four_floats cd_high = __builtin_shufflevector(c, d, 2, 6, 3, 7);
        to += 2 * column + row / 4;
        to[0] = __builtin_shufflevector(ab_low, cd_low, 0, 1, 4, 5);
        to[2] = __builtin_shufflevector(ab_low, cd_low, 2, 3, 6, 7);
        to[4] = __builtin_shufflevector(ab_high, cd_high, 0, 1, 4, 5);
        to[6] = __builtin_shufflevector(ab_high, cd_high, 2, 3, 6, 7);
        to -= 2 * column + row / 4;
    }
}

/* Halves of rows r and r + 4 in one register: then nothing crosses the middle of a register any more, which is slow. */
INLINE void turn_by_eights(const float *from, eight_floats *to)
{
    const four_floats *const half = (const four_floats *)(const void *)from;
    for (size_t h = 0; h < 2; h++, to += 4) {
        const eight_floats a = __builtin_shufflevector(half[h], half[8 + h], 0, 1, 2, 3, 4, 5, 6, 7);
        const eight_floats b = __builtin_shufflevector(half[2 + h], half[10 + h], 0, 1, 2, 3, 4, 5, 6, 7);
        const eight_floats c = __builtin_shufflevector(half[4 + h], half[12 + h], 0, 1, 2, 3, 4, 5, 6, 7);
        const eight_floats d = __builtin_shufflevector(half[6 + h], half[14 + h], 0, 1, 2, 3, 4, 5, 6, 7);
        const eight_floats ab_low = __builtin_shufflevector(a, b, 0, 8, 1, 9, 4, 12, 5, 13);
        const eight_floats ab_high = __builtin_shufflevector(a, b, 2, 10, 3, 11, 6, 14, 7, 15);
        const eight_floats cd_low = __builtin_shufflevector(c, d, 0, 8, 1, 9, 4, 12, 5, 13);
        const eight_floats cd_high = __builtin_shufflevector(c, d, 2, 10, 3, 11, 6, 14, 7, 15);
        to[0] = __builtin_shufflevector(ab_low, cd_low, 0, 1, 8, 9, 4, 5, 12, 13);
        to[1] = __builtin_shufflevector(ab_low, cd_low, 2, 3, 10, 11, 6, 7, 14, 15);
        to[2] = __builtin_shufflevector(ab_high, cd_high, 0, 1, 8, 9, 4, 5, 12, 13);
        to[3] = __builtin_shufflevector(ab_high, cd_high, 2, 3, 10, 11, 6, 7, 14, 15);
    }
}

#define VEC        four_floats
#define WIDTH      4
#define NAME(what) what##_by_fours
#define TURN       turn_by_fours
#include "power_kernel.inc"
#undef VEC
#undef WIDTH
#undef NAME
#undef TURN

void wh_power_fft_add_narrow(const wh_power_fft *fft, float *sum)
{
    add_by_fours(fft, sum);
}

#ifdef __x86_64__
#define VEC        eight_floats
#define WIDTH      8
#define NAME(what) what##_by_eights
#define TURN       turn_by_eights
#include "power_kernel.inc"

__attribute__((target("avx2"))) static void add_wide(const wh_power_fft *fft, float *sum)
{
    add_by_eights(fft, sum);
}
#endif

static void choose(wh_power_fft *fft)
{
    fft->add = wh_power_fft_add_narrow;
#ifdef __x86_64__
    if (__builtin_cpu_supports("avx2"))
        fft->add = add_wide;
#endif
}

static void put_turn(float *cosine, float *sine, size_t turn, size_t whole)
{
    const double angle = -2.0 * M_PI * (double)turn / (double)whole;
    *cosine = (float)cos(angle);
    *sine = (float)sin(angle);
}

static void plan(wh_power_fft *fft)
{
    const size_t rows = fft->size / LANES, radix = first_radix(rows);
    float *turns = fft->turns;
    for (size_t p = 0; p < rows / radix; p++)
        for (size_t t = 1; t < radix; t++, turns += 2)
            put_turn(turns, turns + 1, p * t, rows);
    for (size_t l = 0; l < LANES; l++)
        for (size_t k = 0; k < rows; k++)
            put_turn(&fft->lane_turns[rows * l + k], &fft->lane_turns[fft->size + rows * l + k], l * k, fft->size);
}

static float *floats(size_t count)
{
    float *memory = aligned_alloc(ALIGNMENT, (count * sizeof *memory + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT);
    for (size_t i = 0; memory && i < count; i++)
        memory[i] = 0.0f;
    return memory;
}

wh_power_fft *wh_power_fft_create(size_t size)
{
    wh_power_fft *fft = calloc(1, sizeof *fft);
    if (!fft)
        return NULL;
    fft->size = size;
    fft->work = floats(4 * (size + APART));
    fft->lane_turns = floats(2 * size);
    fft->turns = floats(2 * size / LANES);
    if (!fft->work || !fft->lane_turns || !fft->turns) {
        wh_power_fft_destroy(&fft);
        return NULL;
    }
    plan(fft);
    choose(fft);
    return fft;
}

void wh_power_fft_destroy(wh_power_fft **fft)
{
    if (!fft || !*fft)
        return;
    free((*fft)->work);
    free((*fft)->lane_turns);
    free((*fft)->turns);
    free(*fft);
    *fft = NULL;
}

float *wh_power_fft_real(wh_power_fft *fft)
{
    return fft->work;
}

float *wh_power_fft_imag(wh_power_fft *fft)
{
    return fft->work + fft->size + APART;
}

void wh_power_fft_add(const wh_power_fft *fft, float *sum)
{
    fft->add(fft, sum);
}
