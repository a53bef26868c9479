/* The half of a draft that is about the signal. */
#include "bits.h"
#include "draft_impl.h"

#include <math.h>
#include <string.h>

/* "433.92 MHz" and the like: `value` in units of `unit`, with no more digits than it has. */
static void quantity(wh_text *out, double value, double unit, const char *name, unsigned decimals)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(out, "%s %s", wh_plain(number, value / unit, decimals), name);
}

static double within(double value, double least, double most)
{
    return fmin(fmax(value, least), most);
}

static void write_carriers(const wh_kind_estimate *kind, wh_text *out)
{
    const size_t count = kind->carriers_known ? kind->carrier_count : 0;
    size_t written = 0;
    wh_text_add(out, "  carriers: [");
    for (size_t i = 0; i < count && i < WH_CARRIERS_MAX; i++) {
        if (!(kind->carriers_hz[i] >= 24e6 && kind->carriers_hz[i] <= 1766e6))
            continue;
        wh_text_add(out, written++ ? ", " : "");
        quantity(out, kind->carriers_hz[i], 1e6, "MHz", 3);
    }
    if (written == 0)
        wh_text_add(out, "433.92 MHz]  # open: the recordings do not say on which frequency they were made\n");
    else
        wh_text_add(out, "]\n");
}

static void write_radio(const wh_kind_estimate *kind, wh_text *out)
{
    const wh_radio *radio = &kind->radio;
    char number[WH_FIXED_SIZE];
    wh_text_add(out, "radio:\n");
    write_carriers(kind, out);
    wh_text_print(out, "  modulation: %s  # %s\n", radio->modulation == WH_MOD_FSK ? "fsk" : "ook",
                  wh_certainty_name(kind->modulation));
    wh_text_add(out, "  chip rate: ");
    quantity(out, within(radio->chip_rate_hz, 1e3, 50e3), 1.0, "chip/s", 1);
    wh_text_print(out, "  # %s; measured %s", wh_certainty_name(kind->chip_rate_hz.certainty),
                  wh_plain(number, kind->chip_rate_hz.value, 1));
    wh_text_print(out, " +- %s\n", wh_plain(number, kind->chip_rate_hz.error, 1));
    wh_text_add(out, "  rate tolerance: ");
    quantity(out, within(radio->rate_tolerance > 0.0 ? radio->rate_tolerance : 0.05, 0.0, 0.10), 0.01, "%\n", 1);
    if (radio->modulation != WH_MOD_FSK)
        return;
    wh_text_add(out, "  deviation: ");
    quantity(out, within(radio->deviation_hz, 5e3, 80e3), 1e3, "kHz", 2);
    wh_text_print(out, "  # %s; measured %s", wh_certainty_name(kind->deviation_hz.certainty),
                  wh_plain(number, kind->deviation_hz.value / 1e3, 2));
    wh_text_print(out, " +- %s kHz\n", wh_plain(number, kind->deviation_hz.error / 1e3, 2));
    if (radio->low_tone_is_one)
        wh_text_add(out, "  chip one: lower tone\n");
}

static void write_digits(const uint8_t *digits, unsigned count, wh_text *out)
{
    wh_text_add(out, "\"");
    for (unsigned i = 0; i < count; i++)
        wh_text_print(out, "%s%c", i > 0 && i % 4 == 0 ? " " : "", digits[i] ? '1' : '0');
    wh_text_add(out, "\"");
}

static void write_line(const wh_draft *draft, wh_text *out)
{
    const wh_line_candidate *best = &draft->kind->line[0];
    const wh_line_spec line = draft->fields->line;
    wh_text_print(out, "line:\n  code: %s  # %s; of %u bits looked at %u break it\n", wh_line_kind_name(line.kind),
                  draft->fields->reading.twin_code ? "certain, by the check"
                                                   : wh_certainty_name(draft->kind->line_code),
                  best->compared, best->violations);
    switch (line.kind) {
    case WH_LINE_NRZ: wh_text_print(out, "  one: %s\n", line.inverted ? "low" : "high"); break;
    case WH_LINE_MANCHESTER: wh_text_print(out, "  one: %s\n", line.inverted ? "low-high" : "high-low"); break;
    case WH_LINE_DIFFERENTIAL_MANCHESTER: wh_text_print(out, "  one: %s\n", line.inverted ? "edge" : "no edge"); break;
    case WH_LINE_PULSE_WIDTH:
        wh_text_add(out, "  one: {chips: ");
        write_digits(line.one_chips, line.one_count, out);
        wh_text_add(out, "}\n  zero: {chips: ");
        write_digits(line.zero_chips, line.zero_count, out);
        wh_text_add(out, "}\n");
        break;
    default: break;
    }
}

static void write_pattern(const char *key, const wh_pattern *pattern, unsigned repeats, wh_text *out)
{
    wh_text_print(out, "  %s: {%s: ", key, pattern->chips ? "chips" : "bits");
    write_digits(pattern->value, pattern->count, out);
    if (repeats > 1)
        wh_text_print(out, ", repeats: %u", repeats);
    wh_text_add(out, "}");
}

/* The sync, with the leading bits that are left to it behind. */
static wh_pattern whole_sync(const wh_draft *draft)
{
    wh_pattern sync = draft->kind->frame.sync;
    const wh_bit_reading *reading = &draft->fields->reading;
    uint8_t bits[8];
    uint8_t level = sync.count && sync.chips ? sync.value[sync.count - 1] : 0;
    const wh_field_rows *rows = &draft->fields->rows;
    const unsigned dropped = reading->dropped < sizeof bits ? reading->dropped : (unsigned)sizeof bits;
    if (dropped == 0 || rows->count == 0)
        return sync;
    for (unsigned i = 0; i < dropped; i++)
        bits[i] = (uint8_t)(draft->fields->dropped_bits >> (dropped - 1 - i) & 1u);
    if (!sync.chips && sync.count > 0) {
        for (unsigned i = 0; i < dropped && sync.count < WH_PATTERN_MAX; i++)
            sync.value[sync.count++] = bits[i];
        return sync;
    }
    sync.chips = true;
    sync.count = (uint16_t)(sync.count + wh_line_encode(&draft->kind->line[0].line, bits, dropped, &level,
                                                        sync.value + sync.count, WH_PATTERN_MAX - (size_t)sync.count));
    return sync;
}

static void write_frame(const wh_draft *draft, wh_text *out)
{
    const wh_kind_estimate *kind = draft->kind;
    const wh_frame_spec *frame = &kind->frame;
    const unsigned dropped = draft->fields->reading.dropped;
    const wh_pattern sync = whole_sync(draft);
    wh_text_add(out, "frame:\n");
    if (frame->preamble.count > 0) {
        write_pattern("preamble", &frame->preamble, frame->preamble_repeats, out);
        wh_text_print(out, "  # %s; heard %u to %u chips of it\n", wh_certainty_name(kind->preamble),
                      kind->fewest_preamble_chips, kind->most_preamble_chips);
    }
    if (sync.count > 0) {
        write_pattern("sync", &sync, 1, out);
        wh_text_print(out, "  # %s", wh_certainty_name(kind->sync));
        if (kind->common_bits > dropped)
            wh_text_print(out, "; the first %u payload bits never change and may belong to it",
                          kind->common_bits - dropped);
        wh_text_add(out, "\n");
    }
    if (frame->bits_min == frame->bits_max || frame->bits_min < draft->fields->rows.columns)
        wh_text_print(out, "  payload: %u bits  # %s\n", draft->fields->rows.columns, wh_certainty_name(kind->length));
    else
        wh_text_print(out, "  payload: {least: %u bits, most: %u bits, step: %u bits}  # %s\n",
                      frame->bits_min - dropped, frame->bits_max - dropped, frame->bits_step,
                      wh_certainty_name(kind->length));
    if (frame->end.count > 0) {
        write_pattern("end", &frame->end, 1, out);
        wh_text_print(out, "  # %s\n", wh_certainty_name(kind->end));
    }
    if (draft->fields->reading.low_bit_first)
        wh_text_add(out, "  bit order: low bit first\n");
}

static void write_copies(const wh_kind_estimate *kind, wh_text *out)
{
    if (kind->copies < 2)
        return;
    wh_text_print(out, "copies: {count: %u", kind->copies < 255 ? kind->copies : 255);
    if (kind->gap_most_s > 0.0) {
        wh_text_add(out, ", gap: {least: ");
        quantity(out, within(0.5 * kind->gap_least_s, 0.0, 10.0), 1e-3, "ms", 2);
        wh_text_add(out, ", most: ");
        quantity(out, within(1.5 * kind->gap_most_s, 0.0, 10.0), 1e-3, "ms", 2);
        wh_text_add(out, "}");
    }
    wh_text_print(out, "}  # %s\n", wh_certainty_name(kind->copies_certainty));
}

void wh_draft_signal(const wh_draft *draft, wh_text *out)
{
    write_radio(draft->kind, out);
    write_line(draft, out);
    write_frame(draft, out);
    write_copies(draft->kind, out);
}
