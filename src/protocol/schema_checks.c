#include "schema.h"
#include "schema_value.h"

#include <stdio.h>

/* In the order of wh_check_kind. */
static const char *const kinds[] = {"crc", "sum", "two's complement sum", "xor", "even parity", "odd parity"};
static const char *const kind_names[] = {"a CRC",  "a sum",        "a two's complement sum",
                                         "an XOR", "a parity bit", "a parity bit"};

static uint32_t mask_of(unsigned width)
{
    return width >= 32 ? UINT32_MAX : (UINT32_C(1) << width) - 1;
}

/* A number of the check's width; `target` keeps its default when the key is absent. */
static bool read_word(wh_loading *loading, const wh_yaml_node *node, unsigned width, uint32_t *target)
{
    uint64_t value;
    if (!node)
        return true;
    if (!wh_value_integer(loading->complaints, node, 0, UINT64_MAX, &value))
        return false;
    if (value > mask_of(width)) {
        wh_complain(loading->complaints, wh_yaml_span(node), NULL, "%s does not fit the check's %u bits", node->text,
                    width);
        return false;
    }
    *target = (uint32_t)value;
    return true;
}

static bool read_polynomial(wh_loading *loading, const wh_yaml_node *node, wh_check *check)
{
    uint64_t value;
    if (!wh_value_integer(loading->complaints, node, 1, UINT64_MAX, &value))
        return false;
    if (value > mask_of(check->width)) {
        char hint[160];
        snprintf(hint, sizeof hint, "leave the top bit out: 0x%0*llX", (check->width + 3) / 4,
                 (unsigned long long)(value & mask_of(check->width)));
        const bool top_bit = value >> check->width == 1;
        wh_complain(loading->complaints, wh_yaml_span(node), top_bit ? hint : NULL,
                    "the polynomial %s does not fit %u bits", node->text, check->width);
        return false;
    }
    if (!(value & 1))
        wh_warn(loading->complaints, wh_yaml_span(node),
                "write it in normal notation, not reversed, without the top bit",
                "a CRC polynomial has its lowest bit set");
    check->polynomial = (uint32_t)value;
    return true;
}

/* Keys that only some kinds have. */
static void forbid_foreign_keys(wh_loading *loading, const wh_yaml_node *node, wh_check_kind kind)
{
    static const char *const not_crc[] = {"word"};
    static const char *const only_crc[] = {"polynomial", "reflect in", "reflect out"};
    static const char *const not_parity[] = {"width",      "word",        "start",     "final xor", "polynomial",
                                             "reflect in", "reflect out", "bit order", "byte order"};
    const bool parity = kind == WH_CHECK_PARITY_EVEN || kind == WH_CHECK_PARITY_ODD;
    const wh_words words = parity                 ? WH_WORDS_OF(not_parity)
                           : kind == WH_CHECK_CRC ? WH_WORDS_OF(not_crc)
                                                  : WH_WORDS_OF(only_crc);
    wh_value_forbid(loading->complaints, node, kind_names[kind], words);
}

static bool read_numbers(wh_loading *loading, const wh_yaml_node *node, wh_check *check)
{
    wh_complaints *const complaints = loading->complaints;
    const char *const what = kind_names[check->kind];
    const unsigned errors_before = complaints->errors;
    unsigned width, word = 8;
    if (!wh_value_bit_count(complaints, wh_value_need(complaints, node, what, "width"),
                            check->kind == WH_CHECK_CRC ? 3 : 2, 32, &width))
        return false;
    check->width = (uint8_t)width;
    if (check->kind == WH_CHECK_CRC) {
        read_polynomial(loading, wh_value_need(complaints, node, what, "polynomial"), check);
        wh_value_boolean(complaints, wh_yaml_find(node, "reflect in"), &check->reflect_in);
        wh_value_boolean(complaints, wh_yaml_find(node, "reflect out"), &check->reflect_out);
    } else {
        wh_value_bit_count(complaints, wh_yaml_find(node, "word"), 1, 32, &word);
        check->word = (uint8_t)word;
    }
    read_word(loading, wh_yaml_find(node, "start"), width, &check->start);
    read_word(loading, wh_yaml_find(node, "final xor"), width, &check->final_xor);
    wh_value_bit_order(complaints, wh_yaml_find(node, "bit order"), &check->low_bit_first);
    const wh_yaml_node *const byte_order = wh_yaml_find(node, "byte order");
    wh_value_byte_order(complaints, byte_order, &check->low_byte_first);
    if (check->low_byte_first && check->low_bit_first)
        wh_warn(complaints, wh_yaml_span(byte_order),
                "remove one of the two; 'low bit first' turns the whole check round",
                "with 'low bit first' the byte order has no effect");
    if (check->low_byte_first && width % 8 != 0)
        wh_complain(complaints, wh_yaml_span(byte_order), NULL, "a check of %u bits has no whole bytes to order",
                    width);
    return complaints->errors == errors_before;
}

/* What is checked and where the check stands; after the numbers. */
static bool read_ranges(wh_loading *loading, const wh_yaml_node *node, wh_check *check, unsigned index)
{
    wh_complaints *const complaints = loading->complaints;
    const char *const what = kind_names[check->kind];
    const wh_yaml_node *const over = wh_value_need(complaints, node, what, "over");
    const wh_yaml_node *const place = wh_value_need(complaints, node, what, "place");
    loading->check_over[index] = over;
    loading->check_place[index] = place;
    const bool good_over = wh_value_places(complaints, over, &check->over);
    if (!wh_value_places(complaints, place, &check->at))
        return false;
    const unsigned bits = wh_places_width(&check->at);
    if (check->width != 0 && bits != check->width) {
        wh_complain(complaints, wh_yaml_span(place), NULL, "the check has %u bits, its place %u", check->width, bits);
        return false;
    }
    const unsigned covered = wh_places_width(&check->over);
    if (good_over && check->word > 0 && covered % check->word != 0)
        wh_warn(complaints, wh_yaml_span(over), "the last word is filled up with zeros at its low end",
                "%u bits are no whole number of words of %u bits", covered, check->word);
    if (good_over && check->reflect_in && covered % 8 != 0)
        wh_warn(complaints, wh_yaml_span(over), "the last, short byte is turned round in itself",
                "%u bits are no whole number of bytes, but 'reflect in' turns bytes round", covered);
    return good_over;
}

static void read_check(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"kind",      "name",       "width",       "polynomial", "start",
                                       "final xor", "reflect in", "reflect out", "word",       "over",
                                       "place",     "bit order",  "byte order"};
    wh_complaints *const complaints = loading->complaints;
    wh_descriptor *const descriptor = loading->descriptor;
    const unsigned errors_before = complaints->errors;
    unsigned kind;
    if (!wh_value_map(complaints, node, "a check", WH_WORDS_OF(keys)))
        return;
    const unsigned index = descriptor->check_count++;
    wh_check *const check = &descriptor->checks[index];
    loading->check_node[index] = node;
    snprintf(check->name, sizeof check->name, "check %u", index + 1);
    wh_value_text(complaints, wh_yaml_find(node, "name"), check->name, sizeof check->name);
    if (!wh_value_choice(complaints, wh_value_need(complaints, node, "a check", "kind"), "kind of check",
                         WH_WORDS_OF(kinds), &kind))
        return;
    check->kind = (wh_check_kind)kind;
    forbid_foreign_keys(loading, node, check->kind);
    if (check->kind == WH_CHECK_PARITY_EVEN || check->kind == WH_CHECK_PARITY_ODD)
        check->width = 1;
    else
        read_numbers(loading, node, check);
    read_ranges(loading, node, check, index);
    loading->check_good[index] = complaints->errors == errors_before;
}

void wh_schema_checks(wh_loading *loading, const wh_yaml_node *node)
{
    if (!wh_value_list(loading->complaints, node, WH_CHECKS_MAX))
        return;
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next)
        read_check(loading, entry);
}
