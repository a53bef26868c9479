#include "descriptor_text.h"
#include "descriptor_model.h"
#include "frame_map.h"
#include "quantity.h"
#include "text_wrap.h"

#include <stdio.h>
#include <string.h>

#define INDENT 15

static void item(wh_text *text, const char *label, wh_text *body)
{
    char start[INDENT + 1];
    snprintf(start, sizeof start, "  %s", label);
    wh_text_wrap(text, start, body->data ? body->data : "", INDENT, WH_DESCRIPTOR_TEXT_COLUMNS);
    wh_text_clear(body);
}

static void add_quantity(wh_text *body, double value, wh_dimension dimension)
{
    char quantity[48];
    wh_quantity_write(value, dimension, quantity, sizeof quantity);
    wh_text_add(body, quantity);
}

static void add_percent(wh_text *body, double ratio)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(body, "+-%s %%", wh_plain(number, 100 * ratio, 3));
}

static void describe_origin(wh_text *text, const wh_descriptor *descriptor, wh_text *body)
{
    static const char *const kinds[] = {
        [WH_PUBLISHED] = "published", [WH_MEASURED] = "measured", [WH_INVENTED] = "invented"};
    wh_text_add(body, descriptor->path);
    item(text, "file", body);
    wh_text_add(body, kinds[descriptor->provenance]);
    if (descriptor->source[0])
        wh_text_print(body, ": %s", descriptor->source);
    item(text, "layout", body);
}

static void describe_radio(wh_text *text, const wh_descriptor *descriptor, wh_text *body)
{
    const wh_radio *const radio = &descriptor->radio;
    for (unsigned i = 0; i < descriptor->carrier_count; i++) {
        wh_text_add(body, i > 0 ? ", " : "");
        add_quantity(body, descriptor->carriers_hz[i], WH_DIM_FREQUENCY);
    }
    wh_text_add(body, descriptor->carrier_count > 1 ? ", each +-" : ", +-");
    add_quantity(body, descriptor->carrier_tolerance_hz, WH_DIM_FREQUENCY);
    item(text, "carrier", body);
    if (radio->modulation == WH_MOD_OOK) {
        wh_text_add(body, "on-off keying; chip 1 is carrier on");
    } else {
        wh_text_add(body, "FSK, tones ");
        add_quantity(body, radio->deviation_hz, WH_DIM_FREQUENCY);
        wh_text_add(body, " (");
        add_percent(body, radio->deviation_tolerance);
        wh_text_print(body, ") to either side of the carrier; chip 1 is the %s tone",
                      radio->low_tone_is_one ? "lower" : "higher");
    }
    item(text, "modulation", body);
    add_quantity(body, radio->chip_rate_hz, WH_DIM_CHIP_RATE);
    wh_text_add(body, " ");
    add_percent(body, radio->rate_tolerance);
    char length[WH_FIXED_SIZE];
    wh_text_print(body, ": a chip lasts %s us", wh_plain(length, 1e6 / radio->chip_rate_hz, 2));
    item(text, "speed", body);
}

static void add_digits(wh_text *body, const uint8_t *digits, size_t count)
{
    for (size_t i = 0; i < count; i++)
        wh_text_add(body, digits[i] ? "1" : "0");
}

static void describe_line(wh_text *text, const wh_line_spec *line, wh_text *body)
{
    const bool inverted = line->inverted;
    switch (line->kind) {
    case WH_LINE_NRZ: wh_text_print(body, "NRZ: a one is chip %d", !inverted); break;
    case WH_LINE_MANCHESTER:
        wh_text_print(body, "Manchester: a one is the chips %s, a zero %s", inverted ? "01" : "10",
                      inverted ? "10" : "01");
        break;
    case WH_LINE_DIFFERENTIAL_MANCHESTER:
        wh_text_print(body,
                      "differential Manchester: always an edge in mid-bit; a %s has another at the start of the bit",
                      inverted ? "one" : "zero");
        break;
    case WH_LINE_BIPHASE_MARK:
        wh_text_add(body, "biphase mark: an edge at the start of every bit; a one has another in mid-bit");
        break;
    case WH_LINE_BIPHASE_SPACE:
        wh_text_add(body, "biphase space: an edge at the start of every bit; a zero has another in mid-bit");
        break;
    default:
        wh_text_add(body, "pulse width: a one is the chips ");
        add_digits(body, line->one_chips, line->one_count);
        wh_text_add(body, ", a zero ");
        add_digits(body, line->zero_chips, line->zero_count);
        break;
    }
    item(text, "line code", body);
}

static void describe_pattern(wh_text *text, const char *label, const wh_pattern *pattern, unsigned repeats,
                             wh_text *body)
{
    if (pattern->count == 0)
        return;
    if (repeats > 1)
        wh_text_print(body, "%u times the %s ", repeats, pattern->chips ? "chips" : "bits");
    else
        wh_text_add(body, pattern->chips ? "the chips " : "the bits ");
    for (unsigned i = 0; i < pattern->count; i += 8) {
        const unsigned left = pattern->count - i;
        wh_text_add(body, i > 0 ? " " : "");
        add_digits(body, pattern->value + i, left < 8 ? left : 8);
    }
    item(text, label, body);
}

static void describe_frame(wh_text *text, const wh_descriptor *descriptor, wh_text *body)
{
    const wh_frame_spec *const frame = &descriptor->frame;
    describe_pattern(text, "preamble", &frame->preamble, frame->preamble_repeats, body);
    describe_pattern(text, "sync", &frame->sync, 1, body);
    if (frame->bits_min == frame->bits_max)
        wh_text_print(body, "%u bits", frame->bits_min);
    else
        wh_text_print(body, "%u to %u bits in steps of %u", frame->bits_min, frame->bits_max, frame->bits_step);
    if (frame->low_bit_first)
        wh_text_add(body, ", each byte sent least significant bit first (turned round before bits are numbered)");
    item(text, "payload", body);
    describe_pattern(text, "end", &frame->end, 1, body);
    wh_text_print(body, "%u", descriptor->copies);
    if (descriptor->copies > 1) {
        wh_text_add(body, " of each frame, with ");
        add_quantity(body, descriptor->gap_min_s, WH_DIM_DURATION);
        wh_text_add(body, " to ");
        add_quantity(body, descriptor->gap_max_s, WH_DIM_DURATION);
        wh_text_add(body, " between them");
    }
    item(text, "copies", body);
    if (descriptor->partial) {
        wh_text_add(body, "the sensor ID is not known; ");
        if (descriptor->steady.count > 0)
            wh_places_text(body, &descriptor->steady);
        wh_text_add(body, descriptor->steady.count > 0 ? " never change for one sensor and give it a nickname"
                                                       : "no bits that give a sensor a nickname are known either");
        item(text, "partial", body);
    }
}

void wh_descriptor_text(wh_text *text, const wh_descriptor *descriptor)
{
    wh_text body = {.data = NULL};
    char title[WH_NAME_MAX + 4];
    snprintf(title, sizeof title, "%s:", descriptor->name);
    wh_text_wrap(text, title, descriptor->summary, 2, WH_DESCRIPTOR_TEXT_COLUMNS);
    describe_origin(text, descriptor, &body);
    wh_text_add(text, "\nOn the air\n");
    describe_radio(text, descriptor, &body);
    describe_line(text, &descriptor->line, &body);
    describe_frame(text, descriptor, &body);
    wh_text_add(text, "\nThe payload, bit by bit (bit 0 is the first after the sync)\n");
    wh_frame_map_text(text, descriptor);
    wh_text_print(text, "\n%zu example%s, checked when the file was read.\n", descriptor->example_count,
                  descriptor->example_count == 1 ? "" : "s");
    text->failed |= body.failed;
    wh_text_free(&body);
}
