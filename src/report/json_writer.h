/* JSON (RFC 8259) onto a text buffer, key by key in the order of the calls. Values by hand instead of through a
 * library because every number has a fixed count of decimals, so that equal readings are equal bytes. */
#ifndef WH_JSON_WRITER_H
#define WH_JSON_WRITER_H

#include "text_buffer.h"

#include <stdint.h>

void wh_json_open(wh_text *text);  /* '{' */
void wh_json_close(wh_text *text); /* '}' */
/* The key of the next value, with the comma before it where one is due. */
void wh_json_key(wh_text *text, const char *key);
/* '[' and ']'; before each item of an array comes wh_json_item. */
void wh_json_open_array(wh_text *text);
void wh_json_close_array(wh_text *text);
void wh_json_item(wh_text *text); /* the comma where one is due */
/* A string value. Bytes that are no UTF-8 become U+FFFD. */
void wh_json_string(wh_text *text, const char *string);

/* Key and value at once. */
void wh_json_put_string(wh_text *text, const char *key, const char *string);
void wh_json_put_fixed(wh_text *text, const char *key, double value, unsigned decimals); /* NaN, infinite: null */
void wh_json_put_count(wh_text *text, const char *key, uint64_t count);
void wh_json_put_bool(wh_text *text, const char *key, bool value);
void wh_json_put_null(wh_text *text, const char *key);

#endif
