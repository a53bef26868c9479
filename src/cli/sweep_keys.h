/* The keys of a walk: one at a time, without waiting. */
#ifndef WH_SWEEP_KEYS_H
#define WH_SWEEP_KEYS_H

#include <stdbool.h>
#include <termios.h>

typedef enum wh_key {
    WH_KEY_NONE, /* nothing was pressed */
    WH_KEY_NEXT, /* space, Enter, right, down */
    WH_KEY_BACK, /* Backspace, left, up */
    WH_KEY_WOKEN,
    WH_KEY_ACCEPT,
    WH_KEY_UNDO,
    WH_KEY_UNIT,
    WH_KEY_REPAIRED,
    WH_KEY_END,
    WH_KEY_QUIT,
    WH_KEY_OTHER
} wh_key;

typedef struct wh_keys {
    bool terminal, closed;
    struct termios before;
    unsigned char held[8]; /* bytes of a key that came in pieces */
    unsigned held_count;
} wh_keys;

/* Keys come at once and unseen when standard input is a terminal; from a pipe byte by byte. */
void wh_keys_begin(wh_keys *keys);
/* Give the terminal back as it was. */
void wh_keys_end(wh_keys *keys);
/* Wait up to `wait_ms` for a key. */
wh_key wh_keys_next(wh_keys *keys, int wait_ms);
/* What bytes mean: the key, and how many bytes of the `count` (>= 1) make it up; 0 bytes: more are needed. */
wh_key wh_key_read(const unsigned char *bytes, unsigned count, unsigned *used);

#endif
