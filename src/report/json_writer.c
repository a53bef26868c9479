#include "json_writer.h"

#include <inttypes.h>
#include <math.h>
#include <stdbool.h>

void wh_json_open(wh_text *text)
{
    wh_text_add(text, "{");
}

void wh_json_close(wh_text *text)
{
    wh_text_add(text, "}");
}

void wh_json_key(wh_text *text, const char *key)
{
    if (text->length > 0 && text->data[text->length - 1] != '{')
        wh_text_add(text, ",");
    wh_json_string(text, key);
    wh_text_add(text, ":");
}

static void add_escaped(wh_text *text, unsigned char byte)
{
    switch (byte) {
    case '"': wh_text_add(text, "\\\""); break;
    case '\\': wh_text_add(text, "\\\\"); break;
    case '\n': wh_text_add(text, "\\n"); break;
    case '\t': wh_text_add(text, "\\t"); break;
    default: wh_text_print(text, "\\u%04x", byte);
    }
}

static bool continues(unsigned char byte)
{
    return (byte & 0xC0) == 0x80;
}

/* Bytes (1..4) of the character at `p`; 0 when no valid UTF-8 character (RFC 3629: no overlong forms, no surrogates,
 * nothing above U+10FFFF) begins there. */
static size_t utf8_length(const char *p)
{
    const unsigned char *b = (const unsigned char *)p;
    if (b[0] == 0)
        return 0;
    if (b[0] < 0x80)
        return 1;
    if (b[0] < 0xC2 || b[0] > 0xF4 || !continues(b[1]))
        return 0;
    if (b[0] < 0xE0)
        return 2;
    /* The second byte's range tells overlong forms, surrogates and what lies above U+10FFFF. */
    if ((b[0] == 0xE0 && b[1] < 0xA0) || (b[0] == 0xED && b[1] > 0x9F) || (b[0] == 0xF0 && b[1] < 0x90) ||
        (b[0] == 0xF4 && b[1] > 0x8F) || !continues(b[2]))
        return 0;
    if (b[0] < 0xF0)
        return 3;
    return continues(b[3]) ? 4 : 0;
}

void wh_json_string(wh_text *text, const char *string)
{
    wh_text_add(text, "\"");
    for (const char *p = string; *p;) {
        const size_t length = utf8_length(p);
        const unsigned char byte = (unsigned char)*p;
        if (length == 0)
            wh_text_add(text, "\xEF\xBF\xBD");
        else if (byte < 0x20 || byte == '"' || byte == '\\' || byte == 0x7F)
            add_escaped(text, byte);
        else
            wh_text_add_bytes(text, p, length);
        p += length ? length : 1;
    }
    wh_text_add(text, "\"");
}

void wh_json_put_string(wh_text *text, const char *key, const char *string)
{
    wh_json_key(text, key);
    wh_json_string(text, string);
}

void wh_json_put_fixed(wh_text *text, const char *key, double value, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_json_key(text, key);
    wh_text_add(text, isfinite(value) ? wh_fixed(number, value, decimals) : "null");
}

void wh_json_put_count(wh_text *text, const char *key, uint64_t count)
{
    wh_json_key(text, key);
    wh_text_print(text, "%" PRIu64, count);
}

void wh_json_put_bool(wh_text *text, const char *key, bool value)
{
    wh_json_key(text, key);
    wh_text_add(text, value ? "true" : "false");
}

void wh_json_put_null(wh_text *text, const char *key)
{
    wh_json_key(text, key);
    wh_text_add(text, "null");
}
