/* YAML files as trees with places: what is accepted, what is refused, and where the complaint points. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "yaml_tree.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static wh_yaml_node *parse(const char *text, size_t length, wh_complaints *complaints, wh_status *status)
{
    wh_yaml_node *root;
    wh_complaints_begin(complaints, "t.yaml", text, length);
    *status = wh_yaml_parse(complaints, &root);
    return root;
}

static void test_places(void **state)
{
    (void)state;
    static const char text[] = "first: \"010\"\n"
                               "\xC3\xA4\xE2\x82\xAC\xF0\x9F\x98\x80: {b: no, c: [1, 2]}\n" /* three characters */
                               "long:\n"
                               "  - x y\n";
    wh_complaints complaints;
    wh_status status;
    wh_yaml_node *root = parse(text, strlen(text), &complaints, &status);
    assert_int_equal(status, WH_OK);
    assert_int_equal(complaints.count, 0);
    assert_int_equal(root->kind, WH_YAML_MAP);
    assert_int_equal(root->count, 3);

    const wh_yaml_node *const first = wh_yaml_find(root, "first");
    assert_string_equal(first->text, "010"); /* as written; no number was made of it */
    assert_true(first->quoted);
    assert_int_equal(first->start.line, 1);
    assert_int_equal(first->start.column, 8);
    assert_int_equal(wh_yaml_span(first).width, 5);
    assert_int_equal(first->key->start.column, 1);

    /* Columns count characters: the key has three, of 2, 3 and 4 bytes. */
    const wh_yaml_node *const second = first->next;
    assert_int_equal(second->kind, WH_YAML_MAP);
    assert_int_equal(second->start.line, 2);
    assert_int_equal(second->start.column, 6);
    const wh_yaml_node *const b = wh_yaml_find(second, "b");
    assert_string_equal(b->text, "no");
    assert_false(b->quoted);
    assert_int_equal(b->start.column, 10);
    assert_int_equal(wh_yaml_find(second, "c")->count, 2);
    assert_null(wh_yaml_find(second, "d"));

    const wh_yaml_node *const entry = wh_yaml_find(root, "long")->first;
    assert_string_equal(entry->text, "x y");
    assert_null(entry->key);
    assert_int_equal(entry->start.line, 4);
    assert_int_equal(entry->start.column, 5);
    wh_yaml_destroy(&root);
    assert_null(root);
    wh_complaints_free(&complaints);
}

typedef struct refusal {
    const char *text;
    size_t length; /* 0: of the string */
    wh_status status;
    unsigned line, column;
    const char *reason; /* part of it */
} refusal;

static void test_refusals(void **state)
{
    (void)state;
    static const refusal refusals[] = {
        {"", 0, WH_ERR_DATA, 1, 1, "the file is empty"},
        {"# nothing\n", 0, WH_ERR_DATA, 1, 1, "the file is empty"},
        {"a: 1\n\tb: 2\n", 0, WH_ERR_DATA, 2, 1, "a tab in the indentation"},
        {"a: 1\n  \tb: 2\n", 0, WH_ERR_DATA, 2, 3, "a tab in the indentation"},
        {"a: x\0y\n", 7, WH_ERR_DATA, 1, 5, "a zero byte"},
        {"a: \xC3\xA4 \xE4\n", 0, WH_ERR_DATA, 1, 6, "0xE4 is not UTF-8"},
        {"a: \xC0\xAF\n", 0, WH_ERR_DATA, 1, 4, "0xC0 is not UTF-8"},         /* overlong '/' */
        {"a: \xE0\x9F\xBF\n", 0, WH_ERR_DATA, 1, 4, "0xE0 is not UTF-8"},     /* overlong U+07FF */
        {"a: \xED\xA0\x80\n", 0, WH_ERR_DATA, 1, 4, "0xED is not UTF-8"},     /* surrogate */
        {"a: \xF4\x90\x80\x80\n", 0, WH_ERR_DATA, 1, 4, "0xF4 is not UTF-8"}, /* beyond U+10FFFF */
        {"a: \xE2\x82", 0, WH_ERR_DATA, 1, 4, "0xE2 is not UTF-8"},           /* cut off */
        {"a: 1\rb: 2\n", 0, WH_ERR_DATA, 1, 5, "carriage return"},
        {"a: \x1B[2J\n", 0, WH_ERR_DATA, 1, 4, "U+001B"},
        {"a: b\xE2\x80\xA8"
         "c\n",
         0, WH_ERR_DATA, 1, 5, "U+2028"},
        {"\x25\x9C", 0, WH_ERR_DATA, 1, 2, "0x9C is not UTF-8"}, /* two bytes that make one YAML library loop */
        {"a: b: c\n", 0, WH_ERR_DATA, 1, 5, "a second ': '"},
        {"a: 1\n  b: 2\n", 0, WH_ERR_DATA, 2, 4, "a second ': '"},
        {"a: \"x\n", 0, WH_ERR_DATA, 1, 4, "a quoted text that begins here"},
        {"x: 1\na: [1, 2\nb: 3\n", 0, WH_ERR_DATA, 2, 4, "the list in [ ] that begins here"},
        {"@a: 1\n", 0, WH_ERR_DATA, 1, 1, "cannot begin with this character"},
        {"a: 1\n---\nb: 2\n", 0, WH_ERR_DATA, 2, 1, "a second document"},
        {"a: 1\nb: 2\na: 3\n", 0, WH_OK, 3, 1, "'a' stands here a second time (first in line 1)"},
        {"a: &x 1\n", 0, WH_OK, 1, 4, "anchors"},
        {"a: *x\n", 0, WH_OK, 1, 4, "aliases"},
        {"a: !!str 1\n", 0, WH_OK, 1, 4, "tags"},
        {"? [a]\n: 1\n", 0, WH_OK, 1, 3, "a list cannot be a key"},
        {"a: \"x\\0y\"\n", 0, WH_OK, 1, 4, "control character 0x00"},
    };
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        const refusal *const r = &refusals[i];
        wh_complaints complaints;
        wh_status status;
        wh_yaml_node *root = parse(r->text, r->length ? r->length : strlen(r->text), &complaints, &status);
        if (complaints.count != 1)
            print_message("row %zu: %zu complaints\n", i, complaints.count);
        assert_int_equal(complaints.count, 1);
        const wh_complaint *const said = &complaints.items[0];
        if (said->line != r->line || said->column != r->column || !strstr(said->reason, r->reason))
            print_message("row %zu: %u:%u %s\n", i, said->line, said->column, said->reason);
        assert_int_equal(said->line, r->line);
        assert_int_equal(said->column, r->column);
        assert_non_null(strstr(said->reason, r->reason));
        assert_int_equal(status, r->status);
        assert_int_equal(root != NULL, status == WH_OK);
        wh_yaml_destroy(&root);
        wh_complaints_free(&complaints);
    }
}

/* The first of two equal keys counts. */
static void test_duplicate(void **state)
{
    (void)state;
    wh_complaints complaints;
    wh_status status;
    wh_yaml_node *root = parse("a: 1\na: 2\n", 10, &complaints, &status);
    assert_int_equal(root->count, 1);
    assert_string_equal(wh_yaml_find(root, "a")->text, "1");
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
}

static char *repeated(const char *unit, size_t times, const char *end)
{
    char *const text = malloc(strlen(unit) * times + strlen(end) + 1);
    assert_non_null(text);
    char *next = text;
    for (size_t i = 0; i < times; i++, next += strlen(unit))
        memcpy(next, unit, strlen(unit));
    strcpy(next, end);
    return text;
}

static void expect_status(char *text, wh_status expected)
{
    wh_complaints complaints;
    wh_status status;
    wh_yaml_node *root = parse(text, strlen(text), &complaints, &status);
    assert_int_equal(status, expected);
    assert_int_equal(complaints.errors, expected != WH_OK);
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
    free(text);
}

static void test_limits(void **state)
{
    (void)state;
    char *const open = repeated("[", 32, ""), *const close = repeated("]", 32, "");
    char *const nested = malloc(65);
    assert_non_null(nested);
    snprintf(nested, 65, "%s%s", open, close);
    free(open);
    free(close);
    expect_status(nested, WH_OK); /* 32 deep */
    expect_status(repeated("[", 33, ""), WH_ERR_LIMIT);
    expect_status(repeated("[", 60000, ""), WH_ERR_LIMIT);
    expect_status(repeated("- x\n", 4096, ""), WH_OK);
    expect_status(repeated("- x\n", 4097, ""), WH_ERR_LIMIT);
    expect_status(repeated("#", 65530, "\na: b"), WH_OK); /* 65535 bytes */
    expect_status(repeated("#", 65532, "\na: b"), WH_ERR_LIMIT);
    char *const map = malloc(257 * 8 + 1);
    assert_non_null(map);
    for (unsigned i = 0; i < 257; i++)
        sprintf(map + 8 * i, "k%04u: \n", i);
    expect_status(map, WH_ERR_LIMIT);
}

/* A long line is quoted around the place, with the caret below it. */
static void test_long_line(void **state)
{
    (void)state;
    char *const text = repeated("x", 300, ": *y\n");
    wh_complaints complaints;
    wh_status status;
    wh_yaml_node *root = parse(text, strlen(text), &complaints, &status);
    assert_int_equal(complaints.count, 1);
    const wh_complaint *const said = &complaints.items[0];
    assert_int_equal(said->column, 303);
    assert_true(strlen(said->source_line) < sizeof said->source_line);
    assert_int_equal(said->source_line[said->caret - 1], '*');
    assert_memory_equal(said->source_line, "...x", 4);
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
    free(text);
}

static void count_complaint(void *context, const wh_complaint *complaint)
{
    (void)complaint;
    ++*(unsigned *)context;
}

/* A file full of mistakes ends in one line that says so. */
static void test_many(void **state)
{
    (void)state;
    char *const text = repeated("- *x\n", 1000, "");
    wh_complaints complaints;
    wh_status status;
    unsigned told = 0;
    wh_yaml_node *root = parse(text, strlen(text), &complaints, &status);
    assert_int_equal(complaints.errors, 1000);
    wh_complaints_tell(&complaints, count_complaint, &told);
    assert_int_equal(told, WH_COMPLAINTS_MAX + 1);
    assert_non_null(strstr(complaints.items[WH_COMPLAINTS_MAX].reason, "too many complaints"));
    wh_yaml_destroy(&root);
    wh_complaints_free(&complaints);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_places), cmocka_unit_test(test_refusals),  cmocka_unit_test(test_duplicate),
        cmocka_unit_test(test_limits), cmocka_unit_test(test_long_line), cmocka_unit_test(test_many),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
