#include "json_writer.h"

#include "utf8.h"

#include <inttypes.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

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

void wh_json_open_array(wh_text *text)
{
    wh_text_add(text, "[");
}

void wh_json_close_array(wh_text *text)
{
    wh_text_add(text, "]");
}

void wh_json_item(wh_text *text)
{
    if (text->length > 0 && text->data[text->length - 1] != '[')
        wh_text_add(text, ",");
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

void wh_json_string(wh_text *text, const char *string)
{
    wh_text_add(text, "\"");
    const char *const end = string + strlen(string);
    for (const char *p = string; p < end;) {
        const size_t length = wh_utf8_length(p, (size_t)(end - p));
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
