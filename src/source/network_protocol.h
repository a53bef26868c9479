/* The widespread way to send a dongle's samples over a TCP connection: the server begins with 12 bytes ("RTL0", the
 * kind of tuner and its number of gain steps, both 32 bit big-endian), then sends unsigned 8 bit I/Q without end. The
 * client may send commands of five bytes: a code and a 32 bit big-endian value. */
#ifndef WH_NETWORK_PROTOCOL_H
#define WH_NETWORK_PROTOCOL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WH_NETWORK_HEADER_BYTES  12
#define WH_NETWORK_COMMAND_BYTES 5

typedef struct wh_network_header {
    uint32_t tuner;
    uint32_t gain_count;
} wh_network_header;

typedef enum wh_network_code {
    WH_NETWORK_FREQUENCY = 1, /* Hz */
    WH_NETWORK_RATE = 2,      /* samples per second */
    WH_NETWORK_GAIN_MODE = 3, /* 0 automatic, 1 manual */
    WH_NETWORK_GAIN = 4,      /* tenths of a dB */
    WH_NETWORK_PPM = 5        /* parts per million, signed */
} wh_network_code;

/* False when these are not the 12 bytes of such a server. */
bool wh_network_header_parse(const uint8_t bytes[WH_NETWORK_HEADER_BYTES], wh_network_header *header);
/* "R820T" and the like; "unknown tuner" for other numbers. */
const char *wh_network_tuner_name(uint32_t tuner);
void wh_network_command(wh_network_code code, uint32_t value, uint8_t out[WH_NETWORK_COMMAND_BYTES]);

/* "tcp://HOST[:PORT]", "HOST:PORT", "[V6]:PORT" -> parts. `port` is text of 1..65535; without one (only after
 * tcp://) "1234". False when it is none of these. */
bool wh_network_address_split(const char *target, char *host, size_t host_room, char port[6]);

#endif
