#include "sha512.h"

#include <stdint.h>

void wh_sha512_init(wh_sha512 *hash)
{
    sha512_init(&hash->state);
}

void wh_sha512_update(wh_sha512 *hash, const void *data, size_t size)
{
    sha512_update(&hash->state, size, data);
}

void wh_sha512_hex(wh_sha512 *hash, char hex[WH_SHA512_HEX_SIZE])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t digest[SHA512_DIGEST_SIZE];
    sha512_digest(&hash->state, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[2 * sizeof digest] = '\0';
}
