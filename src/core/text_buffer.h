/* A growing piece of text, and numbers written into it the same way in every locale. */
#ifndef WH_TEXT_BUFFER_H
#define WH_TEXT_BUFFER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_text {
    char *data; /* NUL-terminated once anything was added; NULL before */
    size_t length, capacity;
    bool failed; /* memory ran out: what was added after that is missing */
} wh_text;

/* A zeroed wh_text is empty. Release the memory; the text is empty afterwards. */
void wh_text_free(wh_text *text);
/* Forget the content, keep the memory and a failure. */
void wh_text_clear(wh_text *text);
void wh_text_add(wh_text *text, const char *string);
void wh_text_add_bytes(wh_text *text, const char *bytes, size_t count);
void wh_text_print(wh_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* `width` columns at least: blanks after `string` (or before it when `width` is negative). A column is one UTF-8
 * character. */
void wh_text_pad(wh_text *text, const char *string, int width);

#define WH_FIXED_SIZE 40 /* characters of the longest number wh_fixed writes, NUL included */

/* `value` with `decimals` (0..9) digits after a point; half rounds away from zero; no sign on zero. A value beyond
 * +-9.2e18 / 10^decimals is cut to that; NaN gives "nan". Returns `out`. */
const char *wh_fixed(char out[WH_FIXED_SIZE], double value, unsigned decimals);
/* The same without the zeros at the end: "2.9", "12". */
const char *wh_plain(char out[WH_FIXED_SIZE], double value, unsigned decimals);
/* The same as wh_fixed, rounded towards zero. */
const char *wh_fixed_down(char out[WH_FIXED_SIZE], double value, unsigned decimals);

#define WH_TIME_SIZE 40
/* Microseconds since 1970 UTC as "2026-03-02T07:15:04.120350Z" with `decimals` (3 or 6) digits of the second, cut,
 * not rounded. Instants before year 0 or after 9999 are clamped. Returns `out`. */
const char *wh_time_text(char out[WH_TIME_SIZE], int64_t utc_us, unsigned decimals);

#endif
