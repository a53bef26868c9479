/* Line codes: bits to chips, and soft chips to soft bits. */
#ifndef WH_LINE_CODE_H
#define WH_LINE_CODE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum wh_line_kind {
    WH_LINE_NRZ,                     /* one chip a bit: one = 1 */
    WH_LINE_MANCHESTER,              /* two chips a bit: one = 10, zero = 01 (Thomas sense) */
    WH_LINE_DIFFERENTIAL_MANCHESTER, /* always an edge in mid-bit; zero = edge at the bit's start, one = none (IEEE 802.5) */
    WH_LINE_BIPHASE_MARK,            /* edge at every bit start; one = a further edge in mid-bit (FM1) */
    WH_LINE_BIPHASE_SPACE,           /* edge at every bit start; zero = a further edge in mid-bit (FM0) */
    WH_LINE_PULSE_WIDTH,             /* each bit its own chip pattern, e.g. one = 110, zero = 100 */
    WH_LINE_KIND_COUNT
} wh_line_kind;

#define WH_LINE_PATTERN_MAX 16 /* chips of one pulse-width bit */

typedef struct wh_line_spec {
    wh_line_kind kind;
    /* The other sense. NRZ: one = chip 0. Manchester: one = 01 (IEEE 802.3 sense). Differential Manchester:
     * one = edge at the bit's start. Without effect for biphase (mark and space are each other's inverse)
     * and pulse width. */
    bool inverted;
    uint8_t zero_count, one_count;           /* pulse width: chips of each pattern, 2..16 */
    uint8_t zero_chips[WH_LINE_PATTERN_MAX]; /* 0 or 1 each */
    uint8_t one_chips[WH_LINE_PATTERN_MAX];
} wh_line_spec;

/* "nrz", "manchester", "differential-manchester", "biphase-mark", "biphase-space", "pulse-width". */
const char *wh_line_kind_name(wh_line_kind kind);

/* Fewest and most chips of one bit. */
unsigned wh_line_chips_min(const wh_line_spec *spec);
unsigned wh_line_chips_max(const wh_line_spec *spec);
/* Longest run of 0 chips that coded bits can make (NRZ: has no bound, returns 32). */
unsigned wh_line_longest_zero_run(const wh_line_spec *spec);

/* Code `bit_count` bits (one 0/1 per byte) into chips (one 0/1 per byte).
 * *level is the chip before the first bit on entry (matters for biphase and differential codes) and
 * the last chip on return. Returns the number of chips, or 0 with nothing written when they exceed
 * `capacity`. */
size_t wh_line_encode(const wh_line_spec *spec, const uint8_t *bits, size_t bit_count, uint8_t *level, uint8_t *chips,
                      size_t capacity);

#endif
