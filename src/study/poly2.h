/* Polynomials over GF(2) of degree 255 at most: frames, and what divides them. */
#ifndef WH_POLY2_H
#define WH_POLY2_H

#include <stdbool.h>
#include <stdint.h>

#define WH_POLY2_TERMS 256

/* Bit k of the number of four 64-bit words, the lowest first, is the coefficient of x^k. */
typedef struct wh_poly2 {
    uint64_t word[4];
} wh_poly2;

/* The first `count` (0..256) packed bits, the first of them the coefficient of x^(count - 1). */
wh_poly2 wh_poly2_of_bits(const uint8_t *packed, unsigned count);
/* Degree, -1 for the zero polynomial. */
int wh_poly2_degree(const wh_poly2 *a);
wh_poly2 wh_poly2_add(const wh_poly2 *a, const wh_poly2 *b);
/* a x^by; terms beyond x^255 are lost. */
wh_poly2 wh_poly2_up(const wh_poly2 *a, unsigned by);
/* a divided by x^by, the remainder dropped. */
wh_poly2 wh_poly2_down(const wh_poly2 *a, unsigned by);
/* Remainder modulo x^terms. */
wh_poly2 wh_poly2_low(const wh_poly2 *a, unsigned terms);
/* Remainder modulo b (not zero). */
wh_poly2 wh_poly2_mod(const wh_poly2 *a, const wh_poly2 *b);
/* Greatest common divisor; that with zero is the other one. */
wh_poly2 wh_poly2_gcd(const wh_poly2 *a, const wh_poly2 *b);

/* The divisors of degree `degree` (1..32) with constant term 1 of a polynomial of degree 62 at most, both as numbers (bit k is
 * the coefficient of x^k). At most `most` are stored, the smallest first; returns how many. Irreducible factors above degree
 * 16 are found only when what is left after the smaller ones is one of them. */
unsigned wh_poly2_divisors(uint64_t a, unsigned degree, uint64_t *divisors, unsigned most);

#endif
