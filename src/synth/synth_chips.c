#include "synth_chips.h"

#include "bits.h"

#include <stdlib.h>
#include <string.h>

typedef struct writer {
    const wh_line_spec *line;
    uint8_t *chips;
    size_t count, capacity;
    uint8_t level;
} writer;

static void put_bits(writer *w, const uint8_t *bits, size_t count)
{
    w->count += wh_line_encode(w->line, bits, count, &w->level, w->chips + w->count, w->capacity - w->count);
}

static void put_pattern(writer *w, const wh_pattern *pattern)
{
    if (!pattern->chips) {
        put_bits(w, pattern->value, pattern->count);
    } else if (pattern->count > 0) {
        memcpy(w->chips + w->count, pattern->value, pattern->count);
        w->count += pattern->count;
        w->level = w->chips[w->count - 1];
    }
}

/* Each byte turned round, a short last one among its own bits. */
static void turn_bytes(uint8_t *bits, size_t count)
{
    for (size_t at = 0; at < count; at += 8) {
        const size_t length = count - at < 8 ? count - at : 8;
        for (size_t i = 0; i < length / 2; i++) {
            const uint8_t kept = bits[at + i];
            bits[at + i] = bits[at + length - 1 - i];
            bits[at + length - 1 - i] = kept;
        }
    }
}

/* An upper bound of the chips a pattern makes. */
static size_t pattern_room(const wh_pattern *pattern, unsigned chips_a_bit)
{
    return (size_t)pattern->count * (pattern->chips ? 1 : chips_a_bit);
}

wh_status wh_synth_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame, uint8_t **chips, size_t *count,
                         wh_error *error)
{
    const wh_frame_spec *spec = &descriptor->frame;
    const unsigned chips_a_bit = wh_line_chips_max(&descriptor->line);
    const size_t room = pattern_room(&spec->preamble, chips_a_bit) * spec->preamble_repeats +
                        pattern_room(&spec->sync, chips_a_bit) + (size_t)frame->count * chips_a_bit +
                        pattern_room(&spec->end, chips_a_bit);
    if (room > WH_SYNTH_CHIPS_MAX)
        return wh_fail(error, WH_ERR_LIMIT, "shorten the preamble", "a frame of %s has %zu chips, more than %zu",
                       descriptor->name, room, WH_SYNTH_CHIPS_MAX);
    writer w = {.line = &descriptor->line, .chips = malloc(room ? room : 1), .capacity = room};
    if (!w.chips)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "no memory for the chips of a frame");
    for (unsigned i = 0; i < spec->preamble_repeats; i++)
        put_pattern(&w, &spec->preamble);
    put_pattern(&w, &spec->sync);
    uint8_t payload[WH_FRAME_BITS_MAX];
    wh_bits_unpack(frame->data, frame->count, payload);
    if (spec->low_bit_first)
        turn_bytes(payload, frame->count);
    put_bits(&w, payload, frame->count);
    put_pattern(&w, &spec->end);
    *chips = w.chips;
    *count = w.count;
    return WH_OK;
}
