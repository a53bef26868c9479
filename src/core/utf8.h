/* The little of UTF-8 (RFC 3629) that reading and writing text needs. */
#ifndef WH_UTF8_H
#define WH_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes of the well-formed character at `text` (1..4), or 0: none stands there. `length` bytes may be read. */
size_t wh_utf8_length(const char *text, size_t length);
/* Its code point. Only for what wh_utf8_length has found well-formed. */
uint32_t wh_utf8_point(const char *text, size_t bytes);
/* C0 and C1 control characters and DEL: what may steer a terminal or break a line. */
bool wh_utf8_control(uint32_t point);
/* Take away a last character that was cut in the middle. */
void wh_utf8_trim(char *text);

/* What people typed, made one line of a record: UTF-8 checked, control characters turned into blanks, blanks at the ends
 * taken away. Returns the length of the result, which is at most that of `text`; `out` has room for that and a NUL.
 * *changed: a control character was within. SIZE_MAX: no UTF-8. */
size_t wh_utf8_line(const char *text, char *out, bool *changed);

#endif
