/* SHA-512 (FIPS 180-4), for the hashes in SigMF metadata. A thin wrapper over nettle. */
#ifndef WH_SHA512_H
#define WH_SHA512_H

#include <nettle/sha2.h>
#include <stddef.h>

#define WH_SHA512_HEX_SIZE 129 /* 128 hex digits and the final NUL */

typedef struct wh_sha512 {
    struct sha512_ctx state;
} wh_sha512;

void wh_sha512_init(wh_sha512 *hash);
/* Take in `size` further bytes; any division into calls gives the same hash. */
void wh_sha512_update(wh_sha512 *hash, const void *data, size_t size);
/* Finish: write 128 lower-case hex digits and a NUL. The hash is then as after init. */
void wh_sha512_hex(wh_sha512 *hash, char hex[WH_SHA512_HEX_SIZE]);

#endif
