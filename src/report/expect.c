#include "expect.h"

#include "expect_model.h"
#include "record_writer.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char form_fix[] = "each line is one JSON object with keys of a reading, e.g. {\"sensor\":\"0A1B2C3D\"}";

void wh_expect_destroy(wh_expect **expect)
{
    if (!*expect)
        return;
    for (size_t i = 0; i < (*expect)->expected_count; i++) {
        json_decref((*expect)->expected[i].keys);
        json_decref((*expect)->expected[i].tolerance);
    }
    for (size_t i = 0; i < (*expect)->heard_count; i++)
        json_decref((*expect)->heard[i].keys);
    free((*expect)->expected);
    free((*expect)->heard);
    free(*expect);
    *expect = NULL;
}

/* Room for one more element; NULL when memory is out. */
static void *grow(void *array, size_t count, size_t *room, size_t element)
{
    if (count < *room)
        return array;
    const size_t wanted = *room ? 2 * *room : 64;
    void *larger = realloc(array, wanted * element);
    if (larger)
        *room = wanted;
    return larger;
}

static wh_status check_tolerance(const wh_expect *expect, unsigned line, const json_t *keys, json_t *tolerance,
                                 wh_error *error)
{
    if (!tolerance)
        return WH_OK;
    if (!json_is_object(tolerance))
        return wh_fail(error, WH_ERR_FORMAT, "write e.g. \"tolerance\":{\"gauge_kpa\":3}",
                       "%s: line %u: tolerance must be an object", expect->name, line);
    const char *key;
    json_t *value;
    json_object_foreach(tolerance, key, value)
    {
        if (!json_is_number(value) || json_number_value(value) < 0)
            return wh_fail(error, WH_ERR_FORMAT, "a tolerance is a number that is not negative",
                           "%s: line %u: the tolerance of %.40s is no such number", expect->name, line, key);
        if (!json_is_number(json_object_get(keys, key)))
            return wh_fail(error, WH_ERR_FORMAT, "state a tolerance only for numbers the line expects",
                           "%s: line %u: there is a tolerance for %.40s but no number to apply it to", expect->name,
                           line, key);
    }
    return WH_OK;
}

/* Reading, another kind of record to pass over, or nothing we know. */
static wh_status check_kind(const wh_expect *expect, unsigned line, json_t *keys, bool *reading, wh_error *error)
{
    static const char *const others[] = {"burst", "attempt", "summary", "error"};
    const json_t *record = json_object_get(keys, "record");
    const char *kind = record ? json_string_value(record) : "reading";
    *reading = kind && strcmp(kind, "reading") == 0;
    if (*reading) {
        json_object_del(keys, "record");
        return WH_OK;
    }
    for (size_t i = 0; kind && i < sizeof others / sizeof others[0]; i++) {
        if (strcmp(kind, others[i]) == 0)
            return WH_OK;
    }
    return wh_fail(error, WH_ERR_FORMAT, "leave the key out, or write \"record\":\"reading\"",
                   "%s: line %u: there is no record of this kind", expect->name, line);
}

/* Takes over `keys`. */
static wh_status add_expected(wh_expect *expect, unsigned line, json_t *keys, wh_error *error)
{
    bool reading;
    json_t *tolerance = json_incref(json_object_get(keys, "tolerance"));
    json_object_del(keys, "tolerance");
    wh_status status = check_kind(expect, line, keys, &reading, error);
    if (status == WH_OK && reading)
        status = check_tolerance(expect, line, keys, tolerance, error);
    if (status == WH_OK && reading) {
        wh_expected *larger = NULL;
        if (expect->expected_count < WH_EXPECT_LINES_MAX)
            larger = grow(expect->expected, expect->expected_count, &expect->expected_room, sizeof *larger);
        if (larger) {
            expect->expected = larger;
            larger[expect->expected_count++] = (wh_expected){.keys = keys, .tolerance = tolerance, .line = line};
            return WH_OK;
        }
        status = expect->expected_count < WH_EXPECT_LINES_MAX
                     ? wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory")
                     : wh_fail(error, WH_ERR_LIMIT, "split the file", "%s: more than %u expected readings",
                               expect->name, WH_EXPECT_LINES_MAX);
    }
    json_decref(keys);
    json_decref(tolerance);
    return status;
}

static wh_status parse_line(wh_expect *expect, unsigned line, const char *text, size_t length, wh_error *error)
{
    size_t blanks = 0;
    while (blanks < length && memchr(" \t\r", text[blanks], 3))
        blanks++;
    if (blanks == length)
        return WH_OK;
    json_error_t problem;
    json_t *keys = json_loadb(text, length, JSON_REJECT_DUPLICATES, &problem);
    if (!keys)
        return wh_fail(error, WH_ERR_FORMAT, form_fix, "%s: line %u, column %d: %s", expect->name, line, problem.column,
                       problem.text);
    if (!json_is_object(keys)) {
        json_decref(keys);
        return wh_fail(error, WH_ERR_FORMAT, form_fix, "%s: line %u: not a JSON object", expect->name, line);
    }
    return add_expected(expect, line, keys, error);
}

wh_status wh_expect_parse(const char *name, const char *text, size_t length, wh_expect **out, wh_error *error)
{
    *out = NULL;
    wh_expect *expect = calloc(1, sizeof *expect);
    if (!expect)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    snprintf(expect->name, sizeof expect->name, "%s", name);
    wh_status status = WH_OK;
    unsigned line = 1;
    for (size_t at = 0; status == WH_OK && at < length; line++) {
        const char *end = memchr(text + at, '\n', length - at);
        const size_t size = end ? (size_t)(end - (text + at)) : length - at;
        status = parse_line(expect, line, text + at, size, error);
        at += size + 1;
    }
    if (status != WH_OK)
        wh_expect_destroy(&expect);
    *out = expect;
    return status;
}

static wh_status fail_errno(wh_error *error, const char *path, int number)
{
    const wh_status status = number == ENOENT                      ? WH_ERR_NOT_FOUND
                             : number == EACCES || number == EPERM ? WH_ERR_PERMISSION
                                                                   : WH_ERR_IO;
    return wh_fail(error, status, "name a file of expected readings that can be read", "%s: %s", path,
                   strerror(number));
}

wh_status wh_expect_load(const char *path, wh_expect **out, wh_error *error)
{
    *out = NULL;
    FILE *file = fopen(path, "rb");
    if (!file)
        return fail_errno(error, path, errno);
    wh_text content = {0};
    char block[16384];
    size_t count;
    while ((count = fread(block, 1, sizeof block, file)) > 0 && content.length <= WH_EXPECT_FILE_MAX)
        wh_text_add_bytes(&content, block, count);
    const int failure = ferror(file) ? errno : 0;
    fclose(file);
    wh_status status;
    if (failure)
        status = fail_errno(error, path, failure);
    else if (content.failed)
        status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    else if (content.length > WH_EXPECT_FILE_MAX)
        status = wh_fail(error, WH_ERR_LIMIT, "split the file", "%s: larger than %u bytes", path, WH_EXPECT_FILE_MAX);
    else
        status = wh_expect_parse(path, content.data ? content.data : "", content.length, out, error);
    wh_text_free(&content);
    return status;
}

wh_status wh_expect_reading(wh_expect *expect, const wh_reading *reading)
{
    if (expect->heard_count >= WH_EXPECT_LINES_MAX)
        return WH_ERR_LIMIT;
    wh_heard *larger = grow(expect->heard, expect->heard_count, &expect->heard_room, sizeof *larger);
    if (!larger)
        return WH_ERR_MEMORY;
    expect->heard = larger;
    /* What is compared is what is written, digit for digit. */
    wh_text text = {0};
    wh_json_reading(&text, reading);
    json_t *keys = text.failed ? NULL : json_loadb(text.data, text.length, 0, NULL);
    wh_text_free(&text);
    if (!keys)
        return WH_ERR_MEMORY;
    larger[expect->heard_count++] = (wh_heard){.keys = keys};
    return WH_OK;
}

size_t wh_expect_count(const wh_expect *expect)
{
    return expect->expected_count;
}

size_t wh_expect_heard(const wh_expect *expect)
{
    return expect->heard_count;
}
