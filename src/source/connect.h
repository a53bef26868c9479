/* A TCP connection with time limits. */
#ifndef WH_CONNECT_H
#define WH_CONNECT_H

#include "wheelhark/status.h"

#include <stddef.h>

/* Connect to the first address of HOST:PORT that answers within `limit_ms` in all. *out is the caller's to close; the
 * socket never blocks. NOT_FOUND (no such host, nobody listens), IO. */
wh_status wh_connect(const char *host, const char *port, int limit_ms, int *out, wh_error *error);
/* Send everything, within `limit_ms`. GONE when the peer is not there any more. */
wh_status wh_send_all(int fd, const void *bytes, size_t count, int limit_ms, const char *peer, wh_error *error);

#endif
