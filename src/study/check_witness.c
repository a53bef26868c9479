#include "check_witness.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define BITS_MAX     512
#define ARRANGEMENTS 4 /* bytes as sent or turned round, the last two in either order */
#define SUMS         4

/* A polynomial over GF(2): coefficient of x^k at [k]. */
typedef struct polynomial {
    size_t length; /* degree + 1; 0 for the zero polynomial */
    unsigned char at[BITS_MAX];
} polynomial;

static void trim(polynomial *p)
{
    while (p->length > 0 && !p->at[p->length - 1])
        p->length--;
}

/* Factors x tell only that the last bits never change. */
static void drop_factors_x(polynomial *p)
{
    size_t low = 0;
    while (low < p->length && !p->at[low])
        low++;
    memmove(p->at, p->at + low, p->length - low);
    p->length -= low;
}

static void take_remainder(polynomial *a, const polynomial *b)
{
    while (a->length >= b->length && a->length > 0) {
        const size_t shift = a->length - b->length;
        for (size_t k = 0; k < b->length; k++)
            a->at[k + shift] ^= b->at[k];
        trim(a);
    }
}

/* a = greatest common divisor of a and b; b is lost. */
static void take_divisor(polynomial *a, polynomial *b)
{
    while (b->length > 0) {
        take_remainder(a, b);
        const polynomial swap = *a;
        *a = *b;
        *b = swap;
    }
}

/* Place of bit `k` of the frame in an arrangement. Bytes are counted from the end, where the check is. */
static size_t place(size_t k, size_t count, unsigned arrangement)
{
    size_t back = count - 1 - k;
    if (arrangement & 1u)
        back = back / 8 * 8 + 7 - back % 8;
    if (arrangement & 2u && back < 16)
        back = back < 8 ? back + 8 : back - 8;
    return back;
}

/* Number of independent differences among the frames: what a check was put to the test with. Rows of `basis` hold one leading bit each. */
static size_t rank_of(const unsigned char *bits, size_t rows, size_t stride, size_t count)
{
    unsigned char basis[64][BITS_MAX];
    size_t lead[64], rank = 0;
    for (size_t r = 1; r < rows && rank < 64; r++) {
        unsigned char *row = basis[rank];
        for (size_t k = 0; k < count; k++)
            row[k] = bits[r * stride + k] ^ bits[k];
        for (size_t i = 0; i < rank; i++)
            if (row[lead[i]])
                for (size_t k = 0; k < count; k++)
                    row[k] ^= basis[i][k];
        const unsigned char *first = memchr(row, 1, count);
        if (first)
            lead[rank++] = (size_t)(first - row);
    }
    return rank;
}

/* All differences of frames with a CRC (or a parity, or an XOR of bytes) are multiples of its polynomial. */
static size_t common_degree(const unsigned char *bits, size_t rows, size_t stride, size_t count, unsigned arrangement)
{
    polynomial common = {0};
    for (size_t r = 1; r < rows; r++) {
        polynomial difference = {.length = 0};
        memset(difference.at, 0, sizeof difference.at);
        size_t top = 0;
        for (size_t k = 0; k < count; k++) {
            const size_t to = place(k, count, arrangement);
            if (to >= BITS_MAX)
                return 0; /* bytes turned round may reach beyond the first bit */
            difference.at[to] = bits[r * stride + k] ^ bits[k];
            top = to > top ? to : top;
        }
        difference.length = top + 1;
        trim(&difference);
        if (difference.length == 0)
            continue;
        take_divisor(&common, &difference);
        drop_factors_x(&common);
        if (common.length == 1)
            return 0;
    }
    return common.length > 0 ? common.length - 1 : 0;
}

/* The byte that ends so many bits before the end. */
static unsigned byte_at(const unsigned char *row, size_t count, size_t back, bool turned)
{
    unsigned value = 0;
    for (unsigned i = 0; i < 8; i++) {
        const size_t from_end = 8 * back + i; /* of the byte's bit of weight 2^i */
        if (from_end < count && row[count - 1 - from_end])
            value |= turned ? 0x80u >> i : 1u << i;
    }
    return value;
}

/* Is the last byte, plus or minus all others, the same in all frames? */
static bool sum_holds(const unsigned char *bits, size_t rows, size_t stride, size_t count, bool turned, bool minus)
{
    unsigned first = 0;
    for (size_t r = 0; r < rows; r++) {
        const unsigned char *row = bits + r * stride;
        unsigned sum = byte_at(row, count, 0, turned);
        for (size_t b = 1; b * 8 < count; b++)
            sum = minus ? sum - byte_at(row, count, b, turned) : sum + byte_at(row, count, b, turned);
        if (r == 0)
            first = sum & 0xFFu;
        else if ((sum & 0xFFu) != first)
            return false;
    }
    return true;
}

double wh_check_witness(const unsigned char *bits, size_t rows, size_t stride, size_t count)
{
    if (rows < 4 || count < 16 || count > BITS_MAX)
        return 0.0;
    const size_t rank = rank_of(bits, rows, stride, count);
    if (rank < 2)
        return 0.0;
    double best = 0.0;
    /* There are 2^d polynomials of degree d, and each divides a random difference with probability 2^-d. */
    for (unsigned a = 0; a < ARRANGEMENTS; a++) {
        const double degree = (double)common_degree(bits, rows, stride, count, a);
        best = fmax(best, degree * ((double)rank - 1.0) - log2(ARRANGEMENTS + SUMS));
    }
    for (unsigned s = 0; s < SUMS; s++)
        if (sum_holds(bits, rows, stride, count, s & 1u, s & 2u))
            best = fmax(best, 8.0 * ((double)rank - 1.0) - log2(ARRANGEMENTS + SUMS));
    return fmin(best, WH_WITNESS_MOST);
}
