#include "poly2.h"

#include "bits.h"

#include <string.h>

#define WORDS 4

wh_poly2 wh_poly2_of_bits(const uint8_t *packed, unsigned count)
{
    wh_poly2 a = {{0}};
    for (unsigned i = 0; i < count; i++) {
        const unsigned power = count - 1 - i;
        a.word[power / 64] |= (uint64_t)wh_bit_get(packed, i) << power % 64;
    }
    return a;
}

int wh_poly2_degree(const wh_poly2 *a)
{
    for (int i = WORDS - 1; i >= 0; i--)
        if (a->word[i])
            return 64 * i + 63 - __builtin_clzll(a->word[i]);
    return -1;
}

wh_poly2 wh_poly2_add(const wh_poly2 *a, const wh_poly2 *b)
{
    wh_poly2 sum;
    for (unsigned i = 0; i < WORDS; i++)
        sum.word[i] = a->word[i] ^ b->word[i];
    return sum;
}

wh_poly2 wh_poly2_up(const wh_poly2 *a, unsigned by)
{
    wh_poly2 out = {{0}};
    const unsigned words = by / 64, bits = by % 64;
    for (unsigned i = words; i < WORDS; i++) {
        out.word[i] = a->word[i - words] << bits;
        if (bits > 0 && i > words)
            out.word[i] |= a->word[i - words - 1] >> (64 - bits);
    }
    return out;
}

wh_poly2 wh_poly2_down(const wh_poly2 *a, unsigned by)
{
    wh_poly2 out = {{0}};
    const unsigned words = by / 64, bits = by % 64;
    for (unsigned i = 0; i + words < WORDS; i++) {
        out.word[i] = a->word[i + words] >> bits;
        if (bits > 0 && i + words + 1 < WORDS)
            out.word[i] |= a->word[i + words + 1] << (64 - bits);
    }
    return out;
}

wh_poly2 wh_poly2_low(const wh_poly2 *a, unsigned terms)
{
    wh_poly2 out = {{0}};
    for (unsigned i = 0; i < WORDS && 64 * i < terms; i++)
        out.word[i] = a->word[i] & wh_bits_mask(terms - 64 * i < 64 ? terms - 64 * i : 64);
    return out;
}

/* *a += b x^by. In place, because the search for checks spends most of its time here. */
static void add_shifted(wh_poly2 *a, const wh_poly2 *b, unsigned by)
{
    const unsigned words = by / 64, bits = by % 64;
    for (unsigned i = words; i < WORDS; i++) {
        a->word[i] ^= b->word[i - words] << bits;
        if (bits > 0 && i > words)
            a->word[i] ^= b->word[i - words - 1] >> (64 - bits);
    }
}

wh_poly2 wh_poly2_mod(const wh_poly2 *a, const wh_poly2 *b)
{
    wh_poly2 rest = *a;
    const int top = wh_poly2_degree(b);
    for (int degree = wh_poly2_degree(&rest); degree >= top; degree = wh_poly2_degree(&rest))
        add_shifted(&rest, b, (unsigned)(degree - top));
    return rest;
}

wh_poly2 wh_poly2_gcd(const wh_poly2 *a, const wh_poly2 *b)
{
    wh_poly2 large = *a, small = *b;
    while (wh_poly2_degree(&small) >= 0) {
        const wh_poly2 rest = wh_poly2_mod(&large, &small);
        large = small;
        small = rest;
    }
    return large;
}

/* Polynomials as numbers, for what is left when frames have been reduced. */
static int degree_of(uint64_t a)
{
    return a ? 63 - __builtin_clzll(a) : -1;
}

/* a = quotient b + remainder; returns the remainder. */
static uint64_t divide(uint64_t a, uint64_t b, uint64_t *quotient)
{
    const int top = degree_of(b);
    *quotient = 0;
    for (int degree = degree_of(a); degree >= top; degree = degree_of(a)) {
        a ^= b << (degree - top);
        *quotient |= (uint64_t)1 << (degree - top);
    }
    return a;
}

static uint64_t multiply(uint64_t a, uint64_t b)
{
    uint64_t product = 0;
    for (; b; b >>= 1, a <<= 1)
        if (b & 1)
            product ^= a;
    return product;
}

/* Irreducible factors with constant term 1, as often as they occur; returns how many. */
static unsigned factors_of(uint64_t a, uint64_t factors[64])
{
    unsigned count = 0;
    while (a && !(a & 1))
        a >>= 1;
    for (uint64_t trial = 3; trial < (1u << 17) && 2 * degree_of(trial) <= degree_of(a); trial += 2) {
        uint64_t quotient;
        while (degree_of(a) >= degree_of(trial) && divide(a, trial, &quotient) == 0) {
            factors[count++] = trial;
            a = quotient;
        }
    }
    if (degree_of(a) > 0)
        factors[count++] = a;
    return count;
}

static void keep(uint64_t divisor, uint64_t *divisors, unsigned most, unsigned *count)
{
    unsigned at = 0;
    while (at < *count && divisors[at] < divisor)
        at++;
    if (at < *count && divisors[at] == divisor)
        return;
    if (at >= most)
        return;
    const unsigned kept = *count < most ? *count : most - 1;
    memmove(divisors + at + 1, divisors + at, (kept - at) * sizeof *divisors);
    divisors[at] = divisor;
    *count = kept + 1;
}

unsigned wh_poly2_divisors(uint64_t a, unsigned degree, uint64_t *divisors, unsigned most)
{
    uint64_t factors[64];
    if (degree_of(a) == (int)degree && (a & 1) && most > 0) {
        divisors[0] = a;
        return 1;
    }
    const unsigned factor_count = factors_of(a, factors);
    unsigned count = 0;
    /* Sixteen factors give 65536 products; a frame's differences leave fewer unless nearly nothing is known. */
    const unsigned used = factor_count < 16 ? factor_count : 16;
    for (uint32_t chosen = 1; chosen < (uint32_t)1 << used; chosen++) {
        unsigned sum = 0;
        for (unsigned i = 0; i < used; i++)
            if (chosen >> i & 1)
                sum += (unsigned)degree_of(factors[i]);
        if (sum != degree)
            continue;
        uint64_t product = 1;
        for (unsigned i = 0; i < used; i++)
            if (chosen >> i & 1)
                product = multiply(product, factors[i]);
        keep(product, divisors, most, &count);
    }
    return count;
}
