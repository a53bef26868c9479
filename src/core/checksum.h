/* Sums, XOR and parity over packed bits (bit 0 = most significant bit of byte 0). */
#ifndef WH_CHECKSUM_H
#define WH_CHECKSUM_H

#include <stddef.h>
#include <stdint.h>

/* The bits are cut into words of `word` (1..32) bits, first bit most significant; a short last word is padded
 * with zeros at its low end. */

/* Sum of all words, modulo 2^width (width 1..32). */
uint32_t wh_sum_words(const uint8_t *packed, size_t count, unsigned word, unsigned width);
/* XOR of all words; only the lowest `width` bits are kept. */
uint32_t wh_xor_words(const uint8_t *packed, size_t count, unsigned word, unsigned width);
/* 1 when the number of ones is odd. */
unsigned wh_parity_of(const uint8_t *packed, size_t count);

#endif
