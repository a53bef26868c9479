/* CRC algorithms that have a name. */
#ifndef WH_CRC_NAMES_H
#define WH_CRC_NAMES_H

#include "crc.h"

#include <stddef.h>

typedef struct wh_crc_name {
    const char *name; /* of the public catalogue of parametrised CRC algorithms, e.g. "CRC-16/ARC" */
    wh_crc crc;
} wh_crc_name;

size_t wh_crc_name_count(void);
const wh_crc_name *wh_crc_name_at(size_t index);
/* How many different polynomials of this width have a name. */
unsigned wh_crc_named_polynomials(unsigned width);

#endif
