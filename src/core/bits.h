/* Packed bits: bit 0 is the most significant bit of byte 0, the order in which bits arrive. */
#ifndef WH_BITS_H
#define WH_BITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

static inline unsigned wh_bit_get(const uint8_t *packed, size_t index)
{
    return (unsigned)packed[index / 8] >> (7 - index % 8) & 1u;
}

static inline void wh_bit_put(uint8_t *packed, size_t index, unsigned bit)
{
    const unsigned mask = 0x80u >> index % 8;
    packed[index / 8] = (uint8_t)(bit ? packed[index / 8] | mask : packed[index / 8] & ~mask);
}

/* `count` (0..64) bits from `at` on as a number, the first bit the most significant. */
uint64_t wh_bits_read(const uint8_t *packed, size_t at, unsigned count);
/* The reverse; bits of `value` above `count` are ignored. */
void wh_bits_write(uint8_t *packed, size_t at, unsigned count, uint64_t value);
/* The lowest `count` (0..64) bits of `value` in opposite order; higher bits are dropped. */
uint64_t wh_bits_reverse(uint64_t value, unsigned count);
/* A number with the lowest `count` (0..64) bits set. */
uint64_t wh_bits_mask(unsigned count);
/* One 0/1 per byte to packed and back. Packing clears the unused bits of the last byte. */
void wh_bits_pack(const uint8_t *bits, size_t count, uint8_t *packed);
void wh_bits_unpack(const uint8_t *packed, size_t count, uint8_t *bits);

#endif
