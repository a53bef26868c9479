#include "layouts.h"

#include "bits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *const scene_recordings[3] = {"one", "two", "three"};

static void random_check(wh_rng *rng, layout *out)
{
    static const uint32_t eight[] = {0x07, 0x2F, 0x31, 0x1D, 0xD5}, sixteen[] = {0x1021, 0x8005};
    wh_check *check = &out->check;
    memset(check, 0, sizeof *check);
    out->has_check = true;
    const unsigned kind = (unsigned)wh_rng_below(rng, 6);
    check->width = kind == 2 || kind == 3 ? 16 : 8;
    check->word = 8;
    check->kind = kind < 4 ? WH_CHECK_CRC : kind == 4 ? WH_CHECK_SUM : WH_CHECK_XOR;
    if (check->kind == WH_CHECK_CRC) {
        check->polynomial = check->width == 8 ? eight[wh_rng_below(rng, 5)] : sixteen[wh_rng_below(rng, 2)];
        check->start = wh_rng_below(rng, 2) ? (uint32_t)wh_bits_mask(check->width) : 0;
        check->final_xor = wh_rng_below(rng, 4) ? 0 : (uint32_t)wh_bits_mask(check->width);
        check->reflect_in = check->reflect_out = wh_rng_below(rng, 2);
    }
    check->over = (wh_places){1, {{0, (uint16_t)out->columns}}};
    check->at = (wh_places){1, {{(uint16_t)out->columns, check->width}}};
    out->columns += check->width;
}

void layout_random(wh_rng *rng, layout *out)
{
    static const uint8_t id_bits[] = {24, 32, 32, 28}, pressure_bits[] = {8, 8, 16, 12};
    memset(out, 0, sizeof *out);
    out->family_bits = 8 * (unsigned)wh_rng_below(rng, 2);
    out->family = (uint32_t)wh_rng_next(rng);
    out->id_bits = id_bits[wh_rng_below(rng, 4)];
    /* An ID of 28 bits leaves half a byte, which a pressure of 12 bits takes up. */
    out->pressure_bits = out->id_bits == 28 ? 12 : pressure_bits[wh_rng_below(rng, 3)];
    unsigned at = out->family_bits;
    const bool temperature_first = wh_rng_below(rng, 2) && out->id_bits != 28;
    const bool id_last = wh_rng_below(rng, 3) == 0 && out->id_bits != 28;
    if (!id_last) {
        out->id_at = at;
        at += out->id_bits;
    }
    if (temperature_first) {
        out->temperature_at = at;
        at += 8;
    }
    out->pressure_at = at;
    at += out->pressure_bits;
    if (!temperature_first) {
        out->temperature_at = at;
        at += 8;
    }
    out->status_at = at;
    at += 8;
    if (id_last) {
        out->id_at = at;
        at += out->id_bits;
    }
    if (wh_rng_below(rng, 3) == 0) {
        out->counter_at = at;
        out->counter_bits = 8;
        at += 8;
    }
    out->columns = at;
    out->pressure_low_byte_first = out->pressure_bits == 16 && wh_rng_below(rng, 2);
    out->absolute = wh_rng_below(rng, 3) != 0;
    out->inverted = wh_rng_below(rng, 2);
    static const double eight[] = {4.0, 5.0, 5.5}, twelve[] = {0.5, 0.75, 1.0}, sixteen[] = {0.1, 0.05, 0.25};
    out->pressure_scale = out->pressure_bits == 8    ? eight[wh_rng_below(rng, 3)]
                          : out->pressure_bits == 12 ? twelve[wh_rng_below(rng, 3)]
                                                     : sixteen[wh_rng_below(rng, 3)];
    out->temperature_offset = wh_rng_below(rng, 2) ? -40.0 : -50.0;
    random_check(rng, out);
}

void layout_frame(const layout *l, uint64_t id, truth_state now, unsigned status, unsigned counter,
                  wh_frame_bits *frame)
{
    memset(frame, 0, sizeof *frame);
    frame->count = l->columns;
    const double pressure = now.gauge_kpa + (l->absolute ? LAYOUT_AIR_KPA : 0.0) - l->pressure_offset;
    const uint64_t count = (uint64_t)lround(fmax(0.0, pressure / l->pressure_scale));
    const wh_places at = {1, {{(uint16_t)l->pressure_at, (uint16_t)l->pressure_bits}}};
    wh_bits_write(frame->data, 0, l->family_bits, l->family);
    wh_bits_write(frame->data, l->id_at, l->id_bits, id);
    wh_places_write(frame, &at, false, l->pressure_low_byte_first, count);
    wh_bits_write(frame->data, l->temperature_at, 8, (uint64_t)lround(now.temperature_c - l->temperature_offset));
    wh_bits_write(frame->data, l->status_at, 8, status);
    if (l->counter_bits)
        wh_bits_write(frame->data, l->counter_at, l->counter_bits, counter);
    if (l->has_check)
        wh_places_write(frame, &l->check.at, false, l->check.low_byte_first, wh_check_value(&l->check, frame));
    for (unsigned c = 0; c < l->columns && l->inverted; c++)
        wh_bit_put(frame->data, c, !wh_bit_get(frame->data, c));
}

static void scene_kind(const layout *l, wh_frame_table *table)
{
    wh_kind_estimate *kind = &table->kind;
    kind->radio = (wh_radio){WH_MOD_FSK, 19200.0, 0.05, 40e3, 0.25, false};
    kind->chip_rate_hz = (wh_measured){19201.3, 4.0, WH_CERTAIN};
    kind->deviation_hz = (wh_measured){39.8e3, 300.0, WH_CERTAIN};
    kind->carrier_count = 1;
    kind->carriers_hz[0] = 433.92e6;
    kind->carriers_known = true;
    kind->line_count = 1;
    kind->line[0].line.kind = WH_LINE_MANCHESTER;
    kind->frame.preamble = (wh_pattern){true, 2, {1, 0}};
    kind->frame.preamble_repeats = 20;
    kind->frame.sync = (wh_pattern){true, 10, {1, 1, 1, 1, 0, 0, 0, 0, 1, 1}};
    kind->frame.bits_min = kind->frame.bits_max = (uint16_t)l->columns;
    kind->frame.bits_step = 1;
    kind->copies = 3;
    kind->gap_least_s = 0.05;
    kind->gap_most_s = 0.06;
    kind->modulation = kind->line_code = kind->sync = kind->length = WH_CERTAIN;
}

void scene_make(wh_rng *rng, const layout *l, unsigned frames, bool printed, bool with_air, scene *out)
{
    static const char *const colours[3] = {"red", "green", "blue"};
    memset(out, 0, sizeof *out);
    out->table.columns = l->columns;
    out->table.row_count = (size_t)3 * frames;
    out->table.rows = calloc(out->table.row_count, sizeof *out->table.rows);
    if (!out->table.rows)
        abort();
    scene_kind(l, &out->table);
    wh_text_print(&out->truth, "recording,time,sensor,pressure kPa,temperature degC%s\r\n",
                  with_air ? ",air pressure kPa" : "");
    for (unsigned s = 0; s < 3; s++) {
        out->id[s] = wh_rng_next(rng) & wh_bits_mask(l->id_bits);
        unsigned counter = (unsigned)wh_rng_below(rng, 256);
        truth_state now = {180.0 + 600.0 * wh_rng_uniform(rng), 15.0 + 10.0 * wh_rng_uniform(rng)};
        for (unsigned i = 0; i < frames; i++) {
            wh_table_row *row = &out->table.rows[s * frames + i];
            wh_frame_bits frame;
            char number[WH_FIXED_SIZE];
            if (i % 2 == 0) /* inflated or let down by hand, and warmed */
                now.gauge_kpa = fmin(900.0, fmax(100.0, now.gauge_kpa + 160.0 * (wh_rng_uniform(rng) - 0.5)));
            now.temperature_c += 3.0 * wh_rng_uniform(rng);
            layout_frame(l, out->id[s], now, 0x40 | (unsigned)(wh_rng_below(rng, 4) == 0), counter++, &frame);
            memcpy(row->bits, frame.data, sizeof row->bits);
            for (unsigned c = 0; c < l->columns; c++)
                row->reliability[c] = 20.0f;
            row->length = l->columns;
            row->recording = s;
            row->at_s = 5.0 + 10.0 * i;
            row->copies = 3;
            /* The gauge shows whole kilopascals and is up to 1 kPa off; the thermometer shows whole degrees. */
            wh_text_print(&out->truth, "%s,%s,", scene_recordings[s], wh_plain(number, row->at_s + 0.5, 3));
            if (printed)
                wh_text_print(&out->truth, "%0*llX,", (int)(l->id_bits / 4), (unsigned long long)out->id[s]);
            else
                wh_text_print(&out->truth, "%s,", colours[s]);
            wh_text_print(&out->truth, "%s,",
                          wh_plain(number, round(now.gauge_kpa + 2.0 * (wh_rng_uniform(rng) - 0.5)), 0));
            wh_text_print(&out->truth, "%s", wh_plain(number, round(now.temperature_c), 0));
            wh_text_print(&out->truth, "%s\r\n", with_air ? ",98.7" : "");
        }
    }
}

void scene_free(scene *s)
{
    free(s->table.rows);
    wh_text_free(&s->truth);
    memset(s, 0, sizeof *s);
}
