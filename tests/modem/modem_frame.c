#include "modem_frame.h"

#include "bits.h"
#include "line_code.h"

#include <stdio.h>
#include <string.h>

#define PLAUSIBLE_TRIES   300
#define IMPLAUSIBLE_SHARE (1.0 / 30.0)
#define CHIPS_MOST        (WH_FRAME_BITS_MAX * WH_LINE_PATTERN_MAX)

static void draw_once(const wh_descriptor *descriptor, wh_rng *rng, wh_frame_bits *frame)
{
    *frame = (wh_frame_bits){.count = descriptor->frame.bits_min};
    for (unsigned i = 0; i < frame->count; i++)
        wh_bit_put(frame->data, i, (unsigned)(wh_rng_next(rng) >> 63));
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        const uint64_t raw = field->inverted ? ~field->constant : field->constant;
        if (field->role == WH_ROLE_CONSTANT)
            wh_places_write(frame, &field->at, field->low_bit_first, field->low_byte_first, raw);
    }
    wh_checks_write(descriptor, frame);
}

void modem_frame_draw(const wh_descriptor *descriptor, wh_rng *rng, wh_frame_bits *frame)
{
    const bool anything = wh_rng_uniform(rng) < IMPLAUSIBLE_SHARE;
    for (int i = 0; i < PLAUSIBLE_TRIES; i++) {
        draw_once(descriptor, rng, frame);
        wh_reading reading = {0};
        if (wh_fields_decode(descriptor, frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &reading) == 0 || anything)
            return;
    }
}

static size_t payload(const wh_descriptor *descriptor, const wh_frame_bits *frame, uint8_t *chips)
{
    uint8_t bits[WH_FRAME_BITS_MAX], level = 0;
    wh_bits_unpack(frame->data, frame->count, bits);
    return wh_line_encode(&descriptor->line, bits, frame->count, &level, chips, CHIPS_MOST);
}

double modem_frame_on_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame)
{
    uint8_t chips[CHIPS_MOST];
    const size_t count = payload(descriptor, frame, chips);
    size_t on = 0;
    for (size_t i = 0; i < count; i++)
        on += descriptor->radio.modulation == WH_MOD_FSK || chips[i];
    return (double)on / (double)frame->count;
}

size_t modem_frame_payload_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame)
{
    uint8_t chips[CHIPS_MOST];
    return payload(descriptor, frame, chips);
}

static const struct {
    const char *name, *radio, *line, *known;
    double distance;
} kinds[MODEM_KINDS] = {
    {"fsk-40", "modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz", "code: manchester, one: high-low",
     "preamble: {bits: \"0\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"fsk-20", "modulation: fsk, chip rate: 20 kchip/s, deviation: 20 kHz", "code: manchester, one: high-low",
     "preamble: {bits: \"0\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"ook", "modulation: ook, chip rate: 20 kchip/s", "code: manchester, one: high-low",
     "preamble: {bits: \"0\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"fsk-differential", "modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz", "code: differential-manchester",
     "preamble: {bits: \"0\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"fsk-biphase-mark", "modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz", "code: biphase-mark",
     "preamble: {bits: \"1\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"fsk-biphase-space", "modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz", "code: biphase-space",
     "preamble: {bits: \"0\", repeats: 16}, sync: {bits: \"1110 0101 1010 1100\"}", 1.0},
    {"fsk-nrz", "modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz", "code: nrz",
     "preamble: {bits: \"10\", repeats: 16}, sync: {bits: \"1011 0101 0100 1100 1101 0011\"}", 1.0},
    {"ook-nrz", "modulation: ook, chip rate: 10 kchip/s", "code: nrz",
     "preamble: {bits: \"10\", repeats: 16}, sync: {bits: \"1011 0101 0100 1100 1101 0011\"}", 1.0},
    {"ook-pulse-width", "modulation: ook, chip rate: 10 kchip/s",
     "code: pulse-width, one: {chips: \"110\"}, zero: {chips: \"100\"}",
     "preamble: {bits: \"1\", repeats: 12}, sync: {chips: \"111111 000\"}", 1.0 / 3.0},
};

const char *modem_kind_name(unsigned index)
{
    return kinds[index].name;
}

double modem_kind_distance(unsigned index)
{
    return kinds[index].distance;
}

const wh_descriptor *modem_kind(wh_descriptor_set *set, unsigned index)
{
    return modem_kind_with(set, index, (modem_kind_options){0.05, 3, 0.03, 0.06});
}

const wh_descriptor *modem_kind_with(wh_descriptor_set *set, unsigned index, modem_kind_options with)
{
    char text[1600];
    const int length = snprintf(
        text, sizeof text,
        "wheelhark descriptor: 1\nname: %s\nsummary: 80 bits with a CRC of 8\nprovenance: {kind: invented}\n"
        "radio: {carriers: [433.92 MHz], %s, rate tolerance: %.0f %%}\nline: {%s}\nframe: {%s, payload: 80 bits}\n"
        "copies: {count: %u, gap: {least: %.0f ms, most: %.0f ms}}\n"
        "checks: [{kind: crc, width: 8 bits, polynomial: 0x07, over: {from: 0, bits: 72}, place: {from: 72, bits: "
        "8}}]\n"
        "fields:\n  - {name: sensor, role: sensor, place: {from: 0, bits: 64}}\n"
        "  - {name: pressure, role: pressure, place: {from: 64, bits: 8}, scale: 4 kPa, reference: absolute}\n"
        "examples:\n  - {frame: {hex: \"00000000000000000000\", bits: 80}, expect: {pressure: 0 kPa absolute}}\n",
        kinds[index].name, kinds[index].radio, 100.0 * with.rate_tolerance, kinds[index].line, kinds[index].known,
        with.copies, 1e3 * with.gap_least_s, 1e3 * with.gap_most_s);
    if (length < 0 || (size_t)length >= sizeof text ||
        wh_descriptor_set_load_text(set, kinds[index].name, text, (size_t)length, NULL, NULL) != WH_OK)
        return NULL;
    return wh_descriptor_set_find(set, kinds[index].name);
}
