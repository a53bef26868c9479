/* Cyclic redundancy checks of 3 to 32 bits over any number of bits, with the parameters of the public
 * catalogue of parametrised CRC algorithms (width, poly, init, refin, refout, xorout). */
#ifndef WH_CRC_H
#define WH_CRC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_crc {
    unsigned width;      /* 3..32 */
    uint32_t polynomial; /* normal notation: the top term left out, the next one most significant */
    uint32_t start;      /* register before the first bit, normal notation also when reflected */
    uint32_t final_xor;  /* applied last, after the reflection of the output */
    bool reflect_in;     /* each 8-bit word goes in least significant bit first; when the bits are no
                             whole number of words, the short last word is turned round among its own bits */
    bool reflect_out;    /* the register is turned round over its whole width */
} wh_crc;

/* CRC of the first `count` packed bits (bit 0 = most significant bit of byte 0). For whole bytes this is
 * the catalogue's definition. */
uint32_t wh_crc_of(const wh_crc *crc, const uint8_t *packed, size_t count);

#endif
