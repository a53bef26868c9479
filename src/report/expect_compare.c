#include "expect_model.h"
#include "text_buffer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static double default_tolerance(const char *key)
{
    static const struct {
        const char *key;
        double tolerance;
    } table[] = {
        {"offset_s", 0.02},   {"gauge_kpa", 0.05},  {"absolute_kpa", 0.05}, {"temp_c", 0.05},
        {"confidence", 0.05}, {"carrier_hz", 1000}, {"snr_db", 1},          {"level_dbfs", 1},
    };
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        if (strcmp(key, table[i].key) == 0)
            return table[i].tolerance;
    }
    return 0.0;
}

static double tolerance_of(const wh_expected *expected, const char *key)
{
    const json_t *stated = expected->tolerance ? json_object_get(expected->tolerance, key) : NULL;
    return stated ? json_number_value(stated) : default_tolerance(key);
}

/* Do the values agree? Objects as far as the expected one has keys. */
static bool agrees(json_t *expected, const json_t *heard, double tolerance)
{
    if (!heard)
        return false;
    if (json_is_number(expected) && json_is_number(heard)) {
        /* Decimal digits have no exact double: 724.0 and 724.05 are 0.05 apart plus an error of that size. */
        const double slack = 1e-9 * (1.0 + fabs(json_number_value(expected)));
        return fabs(json_number_value(expected) - json_number_value(heard)) <= tolerance + slack;
    }
    if (!json_is_object(expected) || !json_is_object(heard))
        return json_equal(expected, heard);
    const char *key;
    json_t *value;
    json_object_foreach(expected, key, value)
    {
        if (!agrees(value, json_object_get(heard, key), 0.0))
            return false;
    }
    return true;
}

static size_t mismatches(const wh_expected *expected, const wh_heard *heard)
{
    size_t count = 0;
    const char *key;
    json_t *value;
    json_object_foreach(expected->keys, key, value) count +=
        !agrees(value, json_object_get(heard->keys, key), tolerance_of(expected, key));
    return count;
}

static double seconds_apart(const wh_expected *expected, const wh_heard *heard)
{
    const json_t *wanted = json_object_get(expected->keys, "offset_s");
    const json_t *got = json_object_get(heard->keys, "offset_s");
    return json_is_number(wanted) ? fabs(json_number_value(wanted) - json_number_value(got)) : 0.0;
}

/* The heard reading that meets the expectation and lies nearest in time; NULL when none does. */
static wh_heard *find_met(wh_expect *expect, const wh_expected *expected)
{
    wh_heard *best = NULL;
    for (size_t i = 0; i < expect->heard_count; i++) {
        wh_heard *heard = &expect->heard[i];
        if (heard->used || mismatches(expected, heard) > 0)
            continue;
        if (!best || seconds_apart(expected, heard) < seconds_apart(expected, best))
            best = heard;
    }
    return best;
}

/* Lines that demand more choose first, so that a line that demands little does not take what only they can use. */
static void pair_all(wh_expect *expect)
{
    size_t most = 0;
    for (size_t i = 0; i < expect->expected_count; i++) {
        const size_t keys = json_object_size(expect->expected[i].keys);
        most = keys > most ? keys : most;
    }
    for (size_t keys = most + 1; keys-- > 0;) {
        for (size_t i = 0; i < expect->expected_count; i++) {
            wh_expected *expected = &expect->expected[i];
            if (json_object_size(expected->keys) != keys)
                continue;
            wh_heard *heard = find_met(expect, expected);
            if (heard)
                heard->used = expected->met = true;
        }
    }
}

/* Of the readings nobody took, the one that was most likely meant: same sensor, or same time when no sensor fits. */
static wh_heard *find_near(wh_expect *expect, const wh_expected *expected)
{
    const json_t *sensor = json_object_get(expected->keys, "sensor");
    const json_t *offset = json_object_get(expected->keys, "offset_s");
    wh_heard *best = NULL;
    size_t best_mismatches = 0;
    for (size_t i = 0; i < expect->heard_count; i++) {
        wh_heard *heard = &expect->heard[i];
        if (heard->used)
            continue;
        const bool same_sensor = sensor && json_equal(sensor, json_object_get(heard->keys, "sensor"));
        const bool same_time = offset && seconds_apart(expected, heard) <= tolerance_of(expected, "offset_s");
        const size_t count = mismatches(expected, heard);
        if ((same_sensor || same_time) && (!best || count < best_mismatches)) {
            best = heard;
            best_mismatches = count;
        }
    }
    return best;
}

static void add_json(wh_text *text, const json_t *value)
{
    char *dumped = value ? json_dumps(value, JSON_ENCODE_ANY | JSON_COMPACT | JSON_REAL_PRECISION(9)) : NULL;
    wh_text_add(text, dumped ? dumped : "nothing");
    free(dumped);
}

static void describe_difference(wh_text *text, const wh_expected *expected, const wh_heard *heard)
{
    bool any = false;
    const char *key;
    json_t *value;
    json_object_foreach(expected->keys, key, value)
    {
        const json_t *got = json_object_get(heard->keys, key);
        if (agrees(value, got, tolerance_of(expected, key)))
            continue;
        wh_text_print(text, "%s%s ", any ? ", " : "", key);
        add_json(text, value);
        wh_text_add(text, " expected, ");
        add_json(text, got);
        wh_text_add(text, " heard");
        if (json_is_number(value) && json_is_number(got)) {
            char number[WH_FIXED_SIZE];
            wh_text_print(text, " (tolerance %s)", wh_plain(number, tolerance_of(expected, key), 6));
        }
        any = true;
    }
}

static void describe_heard(wh_text *text, const wh_heard *heard)
{
    static const char *const keys[] = {"offset_s", "source", "descriptor", "sensor", "gauge_kpa", "temp_c"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const json_t *value = json_object_get(heard->keys, keys[i]);
        if (!value)
            continue;
        wh_text_print(text, " %s ", keys[i]);
        add_json(text, value);
    }
}

size_t wh_expect_compare(wh_expect *expect, wh_expect_fn tell, void *context)
{
    size_t differences = 0;
    wh_text text = {0};
    pair_all(expect);
    for (size_t i = 0; i < expect->expected_count; i++) {
        wh_expected *expected = &expect->expected[i];
        if (expected->met)
            continue;
        wh_text_clear(&text);
        wh_text_print(&text, "%s: line %u: ", expect->name, expected->line);
        wh_heard *heard = find_near(expect, expected);
        if (heard) {
            heard->used = true;
            describe_difference(&text, expected, heard);
        } else {
            wh_text_add(&text, "not heard: ");
            add_json(&text, expected->keys);
        }
        tell(context, text.failed ? "out of memory" : text.data);
        differences++;
    }
    for (size_t i = 0; i < expect->heard_count; i++) {
        if (expect->heard[i].used)
            continue;
        wh_text_clear(&text);
        wh_text_add(&text, "heard but not expected:");
        describe_heard(&text, &expect->heard[i]);
        tell(context, text.failed ? "out of memory" : text.data);
        differences++;
    }
    wh_text_free(&text);
    return differences;
}
