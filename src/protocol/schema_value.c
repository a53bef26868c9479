#include "schema_value.h"
#include "nearest_word.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What a value is called in a complaint: its key in quotes, or that it is an entry of a list. */
typedef struct value_name {
    char text[48];
} value_name;

static value_name name_of(const wh_yaml_node *node)
{
    value_name name = {"this entry"};
    if (node->key)
        snprintf(name.text, sizeof name.text, "'%.40s'", node->key->text);
    wh_utf8_trim(name.text);
    return name;
}

static bool is_missing(const wh_yaml_node *node)
{
    return !node || node->kind == WH_YAML_REFUSED;
}

static const char *kind_name(const wh_yaml_node *node)
{
    return node->kind == WH_YAML_MAP ? "a map" : node->kind == WH_YAML_LIST ? "a list" : "a single value";
}

/* "did you mean 'x'?", or the list of what is possible. */
static const char *suggest(const char *word, wh_words words, char *out, size_t capacity)
{
    const char *const nearest = wh_nearest_word(word, words.word, words.count);
    if (nearest) {
        snprintf(out, capacity, "did you mean '%s'?", nearest);
        return out;
    }
    size_t used = (size_t)snprintf(out, capacity, "possible:");
    for (size_t i = 0; i < words.count && used < capacity; i++)
        used += (size_t)snprintf(out + used, capacity - used, "%s %s", i ? "," : "", words.word[i]);
    return out;
}

bool wh_value_map(wh_complaints *complaints, const wh_yaml_node *node, const char *what, wh_words keys)
{
    if (is_missing(node))
        return false;
    if (node->kind != WH_YAML_MAP) {
        wh_complain(complaints, wh_yaml_span(node), "write 'key: value' lines, indented below it",
                    "%s is a map, not %s", what, kind_name(node));
        return false;
    }
    for (const wh_yaml_node *value = node->first; value; value = value->next) {
        char hint[160];
        bool known = false;
        for (size_t i = 0; i < keys.count && !known; i++)
            known = strcmp(keys.word[i], value->key->text) == 0;
        if (!known)
            wh_complain(complaints, wh_yaml_span(value->key), suggest(value->key->text, keys, hint, sizeof hint),
                        "unknown key '%.60s' in %s", value->key->text, what);
    }
    return true;
}

bool wh_value_list(wh_complaints *complaints, const wh_yaml_node *node, unsigned most)
{
    if (is_missing(node))
        return false;
    if (node->kind != WH_YAML_LIST) {
        wh_complain(complaints, wh_yaml_span(node), "write [a, b], or one '- ' line for each entry",
                    "%s is a list, not %s", name_of(node).text, kind_name(node));
        return false;
    }
    if (node->count == 0 || node->count > most) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s has %u entries; 1 to %u are possible", name_of(node).text,
                    node->count, most);
        return false;
    }
    return true;
}

const wh_yaml_node *wh_value_need(wh_complaints *complaints, const wh_yaml_node *map, const char *what, const char *key)
{
    const wh_yaml_node *const value = wh_yaml_find(map, key);
    if (!value)
        wh_complain(complaints, (wh_span){map->start, 1}, NULL, "%s needs the key '%s'", what, key);
    return value;
}

void wh_value_forbid(wh_complaints *complaints, const wh_yaml_node *map, const char *what, wh_words keys)
{
    for (size_t i = 0; i < keys.count; i++) {
        const wh_yaml_node *const value = wh_yaml_find(map, keys.word[i]);
        if (value)
            wh_complain(complaints, wh_yaml_span(value->key), "remove it", "'%s' does not belong to %s", keys.word[i],
                        what);
    }
}

const char *wh_value_scalar(wh_complaints *complaints, const wh_yaml_node *node)
{
    if (is_missing(node))
        return NULL;
    if (node->kind != WH_YAML_SCALAR) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s is a single value, not %s", name_of(node).text,
                    kind_name(node));
        return NULL;
    }
    if (node->text[0] == '\0') {
        wh_complain(complaints, node->key ? wh_yaml_span(node->key) : wh_yaml_span(node), NULL, "%s has no value",
                    name_of(node).text);
        return NULL;
    }
    return node->text;
}

bool wh_value_text(wh_complaints *complaints, const wh_yaml_node *node, char *out, size_t capacity)
{
    const char *const text = wh_value_scalar(complaints, node);
    if (!text)
        return false;
    if (strlen(text) >= capacity) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s is longer than %zu bytes", name_of(node).text,
                    capacity - 1);
        return false;
    }
    if (text[strcspn(text, "\n\t")] != '\0') {
        wh_complain(complaints, wh_yaml_span(node), "write it in one line", "%s has line ends or tabs in it",
                    name_of(node).text);
        return false;
    }
    memcpy(out, text, strlen(text) + 1);
    return true;
}

bool wh_value_integer(wh_complaints *complaints, const wh_yaml_node *node, uint64_t least, uint64_t most, uint64_t *out)
{
    const char *const text = wh_value_scalar(complaints, node);
    uint64_t value;
    if (!text)
        return false;
    if (!wh_integer_read(text, &value)) {
        const bool zero = text[0] == '0' && text[1] >= '0' && text[1] <= '9';
        wh_complain(complaints, wh_yaml_span(node),
                    zero ? "write 0b... for binary, 0x... for hexadecimal, or leave the leading zero out"
                         : "write 18, 0x12 or 0b10010, without a unit",
                    "%s is a whole number, not '%.40s'", name_of(node).text, text);
        return false;
    }
    if (value < least || value > most) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s must be %llu to %llu, not %.40s", name_of(node).text,
                    (unsigned long long)least, (unsigned long long)most, text);
        return false;
    }
    *out = value;
    return true;
}

static void complain_about_quantity(wh_complaints *complaints, const wh_yaml_node *node, wh_dimension dimension,
                                    wh_quantity_fault fault)
{
    char hint[160];
    snprintf(hint, sizeof hint, "units: %s", wh_dimension_units(dimension));
    if (fault == WH_QUANTITY_NO_UNIT)
        wh_complain(complaints, wh_yaml_span(node), hint, "%s needs a unit after the number", name_of(node).text);
    else if (fault == WH_QUANTITY_WRONG_UNIT)
        wh_complain(complaints, wh_yaml_span(node), hint, "'%.40s' is not %s", node->text,
                    wh_dimension_name(dimension));
    else
        wh_complain(complaints, wh_yaml_span(node), hint, "%s is %s: a number and a unit, not '%.40s'",
                    name_of(node).text, wh_dimension_name(dimension), node->text);
}

bool wh_value_quantity(wh_complaints *complaints, const wh_yaml_node *node, wh_dimension dimension, double least,
                       double most, double *out)
{
    const char *const text = wh_value_scalar(complaints, node);
    double value;
    if (!text)
        return false;
    const wh_quantity_fault fault = wh_quantity_read(text, dimension, &value);
    if (fault != WH_QUANTITY_OK) {
        complain_about_quantity(complaints, node, dimension, fault);
        return false;
    }
    if (!(value >= least && value <= most)) {
        char low[40], high[40];
        wh_quantity_write(least, dimension, low, sizeof low);
        wh_quantity_write(most, dimension, high, sizeof high);
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s must be %s to %s, not %.40s", name_of(node).text, low,
                    high, text);
        return false;
    }
    *out = value;
    return true;
}

bool wh_value_bit_count(wh_complaints *complaints, const wh_yaml_node *node, unsigned least, unsigned most,
                        unsigned *out)
{
    double value;
    if (!wh_value_quantity(complaints, node, WH_DIM_BITS, least, most, &value))
        return false;
    if (value != floor(value)) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s must be a whole number of bits", name_of(node).text);
        return false;
    }
    *out = (unsigned)value;
    return true;
}

bool wh_value_choice(wh_complaints *complaints, const wh_yaml_node *node, const char *what, wh_words words,
                     unsigned *out)
{
    const char *const text = wh_value_scalar(complaints, node);
    char hint[160];
    if (!text)
        return false;
    for (unsigned i = 0; i < words.count; i++) {
        if (strcmp(words.word[i], text) == 0) {
            *out = i;
            return true;
        }
    }
    wh_complain(complaints, wh_yaml_span(node), suggest(text, words, hint, sizeof hint), "unknown %s '%.60s'", what,
                text);
    return false;
}

bool wh_value_boolean(wh_complaints *complaints, const wh_yaml_node *node, bool *out)
{
    static const char *const words[] = {"no", "yes", "false", "true"};
    const char *const text = wh_value_scalar(complaints, node);
    if (!text)
        return false;
    for (unsigned i = 0; i < 4; i++) {
        if (strcmp(words[i], text) == 0) {
            *out = i & 1;
            return true;
        }
    }
    wh_complain(complaints, wh_yaml_span(node), NULL, "%s is yes or no, not '%.40s'", name_of(node).text, text);
    return false;
}

bool wh_value_bit_order(wh_complaints *complaints, const wh_yaml_node *node, bool *low_first)
{
    static const char *const orders[] = {"high bit first", "low bit first"};
    unsigned order;
    if (!wh_value_choice(complaints, node, "bit order", WH_WORDS_OF(orders), &order))
        return false;
    *low_first = order == 1;
    return true;
}

bool wh_value_byte_order(wh_complaints *complaints, const wh_yaml_node *node, bool *low_first)
{
    static const char *const orders[] = {"high byte first", "low byte first"};
    unsigned order;
    if (!wh_value_choice(complaints, node, "byte order", WH_WORDS_OF(orders), &order))
        return false;
    *low_first = order == 1;
    return true;
}

bool wh_value_digits(wh_complaints *complaints, const wh_yaml_node *node, uint8_t *out, size_t capacity, size_t *count)
{
    const char *const text = wh_value_scalar(complaints, node);
    size_t digits = 0;
    if (!text)
        return false;
    for (const char *c = text; *c; c++) {
        if (*c == ' ')
            continue;
        if (*c != '0' && *c != '1') {
            wh_span where = wh_yaml_span(node);
            if (!node->quoted) /* in quotes an escape may have moved the columns */
                where = (wh_span){{where.at.line, where.at.column + (unsigned)(c - text)}, 1};
            wh_complain(complaints, where, "only 0, 1 and blanks between groups", "%s has something else than 0 and 1",
                        name_of(node).text);
            return false;
        }
        if (digits == capacity) {
            wh_complain(complaints, wh_yaml_span(node), NULL, "%s has more than %zu digits", name_of(node).text,
                        capacity);
            return false;
        }
        out[digits++] = (uint8_t)(*c - '0');
    }
    *count = digits;
    return true;
}
