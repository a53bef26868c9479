#include "checksum.h"

#include "bits.h"

static uint32_t word_at(const uint8_t *packed, size_t count, size_t at, unsigned word)
{
    const unsigned length = count - at < word ? (unsigned)(count - at) : word;
    return (uint32_t)(wh_bits_read(packed, at, length) << (word - length));
}

uint32_t wh_sum_words(const uint8_t *packed, size_t count, unsigned word, unsigned width)
{
    uint32_t sum = 0; /* wraps modulo 2^32, of which 2^width is a divisor */
    for (size_t at = 0; at < count; at += word)
        sum += word_at(packed, count, at, word);
    return sum & (uint32_t)wh_bits_mask(width);
}

uint32_t wh_xor_words(const uint8_t *packed, size_t count, unsigned word, unsigned width)
{
    uint32_t sum = 0;
    for (size_t at = 0; at < count; at += word)
        sum ^= word_at(packed, count, at, word);
    return sum & (uint32_t)wh_bits_mask(width);
}

unsigned wh_parity_of(const uint8_t *packed, size_t count)
{
    unsigned odd = 0;
    for (size_t i = 0; i < count; i++)
        odd ^= wh_bit_get(packed, i);
    return odd;
}
