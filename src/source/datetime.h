/* Points in time as SigMF writes them: ISO 8601, "2026-03-02T07:15:04.120350Z". */
#ifndef WH_DATETIME_H
#define WH_DATETIME_H

#include <stdbool.h>
#include <stdint.h>

/* Microseconds since 1970-01-01T00:00:00Z; further digits are cut off. The zone may be Z, +hh:mm, -hh:mm, or
 * missing (then UTC). Years 1970 to 9999. False when `text` is no such time. */
bool wh_datetime_parse(const char *text, int64_t *utc_us);

#endif
