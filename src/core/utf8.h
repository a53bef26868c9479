/* The little of UTF-8 (RFC 3629) that reading and writing text needs. */
#ifndef WH_UTF8_H
#define WH_UTF8_H

#include <stddef.h>
#include <stdint.h>

/* Bytes of the well-formed character at `text` (1..4), or 0: none stands there. `length` bytes may be read. */
size_t wh_utf8_length(const char *text, size_t length);
/* Its code point. Only for what wh_utf8_length has found well-formed. */
uint32_t wh_utf8_point(const char *text, size_t bytes);
/* Take away a last character that was cut in the middle. */
void wh_utf8_trim(char *text);

#endif
