#include "bits.h"

#include <string.h>

uint64_t wh_bits_read(const uint8_t *packed, size_t at, unsigned count)
{
    uint64_t value = 0;
    for (unsigned i = 0; i < count; i++)
        value = value << 1 | wh_bit_get(packed, at + i);
    return value;
}

void wh_bits_write(uint8_t *packed, size_t at, unsigned count, uint64_t value)
{
    for (unsigned i = 0; i < count; i++)
        wh_bit_put(packed, at + i, (unsigned)(value >> (count - 1 - i) & 1u));
}

uint64_t wh_bits_reverse(uint64_t value, unsigned count)
{
    uint64_t reversed = 0;
    for (unsigned i = 0; i < count; i++)
        reversed = reversed << 1 | (value >> i & 1u);
    return reversed;
}

uint64_t wh_bits_mask(unsigned count)
{
    return count >= 64 ? UINT64_MAX : ((uint64_t)1 << count) - 1;
}

void wh_bits_pack(const uint8_t *bits, size_t count, uint8_t *packed)
{
    memset(packed, 0, (count + 7) / 8);
    for (size_t i = 0; i < count; i++)
        wh_bit_put(packed, i, bits[i]);
}

void wh_bits_unpack(const uint8_t *packed, size_t count, uint8_t *bits)
{
    for (size_t i = 0; i < count; i++)
        bits[i] = (uint8_t)wh_bit_get(packed, i);
}
