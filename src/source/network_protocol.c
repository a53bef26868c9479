#include "network_protocol.h"

#include <stdio.h>
#include <string.h>

static uint32_t big_endian(const uint8_t *bytes)
{
    return (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 | bytes[3];
}

bool wh_network_header_parse(const uint8_t bytes[WH_NETWORK_HEADER_BYTES], wh_network_header *header)
{
    if (memcmp(bytes, "RTL0", 4) != 0)
        return false;
    header->tuner = big_endian(bytes + 4);
    header->gain_count = big_endian(bytes + 8);
    return true;
}

const char *wh_network_tuner_name(uint32_t tuner)
{
    /* The order of enum rtlsdr_tuner in rtl-sdr.h. */
    static const char *const names[] = {"unknown tuner", "E4000", "FC0012", "FC0013", "FC2580", "R820T", "R828D"};
    return tuner < sizeof names / sizeof *names ? names[tuner] : names[0];
}

void wh_network_command(wh_network_code code, uint32_t value, uint8_t out[WH_NETWORK_COMMAND_BYTES])
{
    out[0] = (uint8_t)code;
    for (int i = 0; i < 4; i++)
        out[1 + i] = (uint8_t)(value >> (24 - 8 * i));
}

static bool port_parse(const char *text, char port[6])
{
    const size_t length = strspn(text, "0123456789");
    if (length == 0 || length > 5 || text[length] != '\0')
        return false;
    unsigned number = 0;
    for (size_t i = 0; i < length; i++)
        number = number * 10 + (unsigned)(text[i] - '0');
    if (number < 1 || number > 65535)
        return false;
    snprintf(port, 6, "%u", number);
    return true;
}

bool wh_network_address_split(const char *target, char *host, size_t host_room, char port[6])
{
    const bool scheme = strncmp(target, "tcp://", 6) == 0;
    const char *from = scheme ? target + 6 : target, *to, *behind;
    if (*from == '[') { /* an IPv6 address holds colons itself */
        from++;
        to = strchr(from, ']');
        if (!to)
            return false;
        behind = to + 1;
    } else {
        to = behind = from + strcspn(from, ":/");
    }
    const size_t length = (size_t)(to - from);
    if (length == 0 || length >= host_room)
        return false;
    memcpy(host, from, length);
    host[length] = '\0';
    if (*behind == ':')
        return port_parse(behind + 1, port);
    snprintf(port, 6, "1234"); /* the customary port of such servers */
    return scheme && (*behind == '\0' || strcmp(behind, "/") == 0);
}
