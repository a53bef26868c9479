#include "json_writer.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>

#include <cmocka.h>

static void string(const char *given, const char *expected)
{
    wh_text text = {0};
    wh_json_string(&text, given);
    assert_string_equal(text.data, expected);
    wh_text_free(&text);
}

/* RFC 8259 section 7: quote, backslash and U+0000..U+001F must be escaped. */
static void test_escapes(void **state)
{
    (void)state;
    string("", "\"\"");
    string("a\"b\\c/d", "\"a\\\"b\\\\c/d\"");
    string("\n\t\r\x01\x1f\x7f", "\"\\n\\t\\u000d\\u0001\\u001f\\u007f\"");
}

/* The table of well-formed byte sequences, RFC 3629 section 4. */
static void test_utf8(void **state)
{
    (void)state;
    string("\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x9A\x9A", "\"\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x9A\x9A\"");
    string("\xF4\x8F\xBF\xBF \xED\x9F\xBF", "\"\xF4\x8F\xBF\xBF \xED\x9F\xBF\"");
    const char bad[] = "\xEF\xBF\xBD";
    static const char *const broken[] = {"\x80", "\xC3", "\xFF", "\xC1"};
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        char expected[8];
        snprintf(expected, sizeof expected, "\"%s\"", bad);
        string(broken[i], expected);
    }
    string("\xC0\xAF", "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");                                 /* overlong */
    string("\xED\xA0\x80", "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\"");                 /* surrogate */
    string("\xF4\x90\x80\x80", "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\""); /* above U+10FFFF */
    string("\xE2\x82", "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");                                 /* cut */
}

static void test_objects(void **state)
{
    (void)state;
    wh_text text = {0};
    wh_json_open(&text);
    wh_json_put_string(&text, "a", "b");
    wh_json_put_fixed(&text, "c", -1.25, 3);
    wh_json_put_fixed(&text, "none", NAN, 3);
    wh_json_put_count(&text, "d", UINT64_MAX);
    wh_json_key(&text, "e");
    wh_json_open(&text);
    wh_json_put_bool(&text, "f", true);
    wh_json_put_null(&text, "g");
    wh_json_close(&text);
    wh_json_put_bool(&text, "h", false);
    wh_json_close(&text);
    assert_string_equal(text.data, "{\"a\":\"b\",\"c\":-1.250,\"none\":null,\"d\":18446744073709551615,"
                                   "\"e\":{\"f\":true,\"g\":null},\"h\":false}");
    wh_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_escapes),
        cmocka_unit_test(test_utf8),
        cmocka_unit_test(test_objects),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
