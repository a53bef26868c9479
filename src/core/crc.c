#include "crc.h"

#include "bits.h"

/* One bit at a time: frames are short, and any width and any number of bits fall out by themselves.
 * The register holds the remainder of (message x^width) modulo the generator polynomial. */
uint32_t wh_crc_of(const wh_crc *crc, const uint8_t *packed, size_t count)
{
    const uint32_t mask = (uint32_t)wh_bits_mask(crc->width);
    const unsigned top = crc->width - 1;
    uint32_t reg = crc->start & mask;
    for (size_t i = 0; i < count; i++) {
        size_t from = i;
        if (crc->reflect_in) {
            const size_t word = i - i % 8;
            const size_t length = count - word < 8 ? count - word : 8;
            from = word + (length - 1 - i % 8);
        }
        const uint32_t feedback = (reg >> top ^ wh_bit_get(packed, from)) & 1u;
        reg = (reg << 1 ^ (feedback ? crc->polynomial : 0)) & mask;
    }
    if (crc->reflect_out)
        reg = (uint32_t)wh_bits_reverse(reg, crc->width);
    return (reg ^ crc->final_xor) & mask;
}
