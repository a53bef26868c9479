#include "schema_value.h"

#include <string.h>

unsigned wh_places_width(const wh_places *places)
{
    unsigned bits = 0;
    for (unsigned i = 0; i < places->count; i++)
        bits += places->piece[i].length;
    return bits;
}

static bool read_piece(wh_complaints *complaints, const wh_yaml_node *node, wh_piece *out)
{
    static const char *const keys[] = {"from", "bits"};
    uint64_t from, bits;
    if (!wh_value_map(complaints, node, "a place", WH_WORDS_OF(keys)))
        return false;
    const wh_yaml_node *const bits_node = wh_value_need(complaints, node, "a place", "bits");
    const bool has_from = wh_value_integer(complaints, wh_value_need(complaints, node, "a place", "from"), 0,
                                           WH_FRAME_BITS_MAX - 1, &from);
    if (!wh_value_integer(complaints, bits_node, 1, WH_FRAME_BITS_MAX, &bits) || !has_from)
        return false;
    if (from + bits > WH_FRAME_BITS_MAX) {
        wh_complain(complaints, wh_yaml_span(bits_node), NULL,
                    "bits %llu to %llu: a frame has at most %d bits, numbered from 0", (unsigned long long)from,
                    (unsigned long long)(from + bits - 1), WH_FRAME_BITS_MAX);
        return false;
    }
    *out = (wh_piece){(uint16_t)from, (uint16_t)bits};
    return true;
}

bool wh_value_places(wh_complaints *complaints, const wh_yaml_node *node, wh_places *out)
{
    wh_places places = {.count = 0};
    bool taken[WH_FRAME_BITS_MAX] = {false};
    if (!node || node->kind == WH_YAML_REFUSED)
        return false;
    if (node->kind == WH_YAML_LIST && !wh_value_list(complaints, node, WH_PIECES_MAX))
        return false;
    bool good = true;
    for (const wh_yaml_node *entry = node->kind == WH_YAML_LIST ? node->first : node; entry;
         entry = node->kind == WH_YAML_LIST ? entry->next : NULL) {
        wh_piece piece;
        if (!read_piece(complaints, entry, &piece)) {
            good = false;
            continue;
        }
        bool twice = false;
        for (unsigned bit = piece.at; bit < piece.at + (unsigned)piece.length; bit++) {
            twice |= taken[bit];
            taken[bit] = true;
        }
        if (twice) {
            wh_complain(complaints, wh_yaml_span(entry), NULL, "a bit of this place is already in the list");
            good = false;
        }
        places.piece[places.count++] = piece;
    }
    if (good)
        *out = places;
    return good;
}
