#include "sweep_keys.h"

#include <ctype.h>
#include <poll.h>
#include <string.h>
#include <unistd.h>

#define ESCAPE 0x1B

/* A cursor key: ESC [ A to D, or ESC O A to D (ECMA-48 CSI and SS3). Other escape sequences are swallowed whole. */
static wh_key escape_key(const unsigned char *bytes, unsigned count, unsigned *used)
{
    *used = 0;
    if (count < 2)
        return WH_KEY_NONE;
    if (bytes[1] != '[' && bytes[1] != 'O') {
        *used = 1; /* the key Escape, then another */
        return WH_KEY_OTHER;
    }
    for (unsigned i = 2; i < count; i++)
        if (bytes[i] >= 0x40 && bytes[i] <= 0x7E) { /* the final byte of a control sequence */
            *used = i + 1;
            switch (bytes[i]) {
            case 'A':
            case 'D': return WH_KEY_BACK;
            case 'B':
            case 'C': return WH_KEY_NEXT;
            default: return WH_KEY_OTHER;
            }
        }
    return WH_KEY_NONE;
}

wh_key wh_key_read(const unsigned char *bytes, unsigned count, unsigned *used)
{
    *used = 1;
    switch (tolower(bytes[0])) {
    case ' ':
    case '\r':
    case '\n': return WH_KEY_NEXT;
    case '\b':
    case 0x7F: return WH_KEY_BACK;
    case 'w': return WH_KEY_WOKEN;
    case 'a': return WH_KEY_ACCEPT;
    case 'u': return WH_KEY_UNDO;
    case 'n': return WH_KEY_UNIT;
    case 'r': return WH_KEY_REPAIRED;
    case 'e': return WH_KEY_END;
    case 'q': return WH_KEY_QUIT;
    case ESCAPE: return escape_key(bytes, count, used);
    default: return WH_KEY_OTHER;
    }
}

void wh_keys_begin(wh_keys *keys)
{
    *keys = (wh_keys){0};
    keys->terminal = isatty(STDIN_FILENO) && tcgetattr(STDIN_FILENO, &keys->before) == 0;
    if (!keys->terminal)
        return;
    struct termios now = keys->before;
    now.c_lflag &= (tcflag_t) ~(ICANON | ECHO); /* ISIG stays: Ctrl-C ends the program */
    now.c_cc[VMIN] = 0;
    now.c_cc[VTIME] = 0;
    tcsetattr(STDIN_FILENO, TCSADRAIN, &now);
}

void wh_keys_end(wh_keys *keys)
{
    if (keys->terminal)
        tcsetattr(STDIN_FILENO, TCSADRAIN, &keys->before);
    keys->terminal = false;
}

/* Take the first key out of what is held. */
static wh_key take_held(wh_keys *keys)
{
    unsigned used;
    if (keys->held_count == 0)
        return WH_KEY_NONE;
    const wh_key key = wh_key_read(keys->held, keys->held_count, &used);
    if (used == 0 && keys->held_count == sizeof keys->held)
        used = 1; /* no key is this long */
    keys->held_count -= used;
    memmove(keys->held, keys->held + used, keys->held_count);
    return key;
}

wh_key wh_keys_next(wh_keys *keys, int wait_ms)
{
    wh_key key = take_held(keys);
    if (key != WH_KEY_NONE || keys->closed)
        return key;
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    if (poll(&input, 1, wait_ms) <= 0)
        return WH_KEY_NONE;
    const ssize_t got = read(STDIN_FILENO, keys->held + keys->held_count, sizeof keys->held - keys->held_count);
    if (got <= 0)
        keys->closed = !keys->terminal;
    else
        keys->held_count += (unsigned)got;
    return take_held(keys);
}
