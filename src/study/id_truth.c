#include "id_truth.h"

#include "bits.h"

#include <ctype.h>
#include <math.h>
#include <string.h>
#include <strings.h>

#define NAMES_MAX  64
#define BITS_LEAST 16
#define CHANCE_MAX 1e-3

typedef struct printed {
    const wh_truth_row *row;
    unsigned digits;
    bool hex, decimal; /* may be read so */
    uint64_t as_hex, as_decimal;
} printed;

static bool read_printed(const wh_truth_row *row, printed *out)
{
    *out = (printed){.row = row, .hex = true, .decimal = true};
    for (const char *c = row->sensor; *c; c++) {
        if (*c == ' ' || *c == '-' || *c == ':')
            continue;
        if (!isxdigit((unsigned char)*c))
            return false;
        const unsigned digit = isdigit((unsigned char)*c) ? (unsigned)(*c - '0') : (unsigned)((*c | 32) - 'a') + 10;
        out->decimal &= digit < 10;
        out->as_hex = out->as_hex << 4 | digit;
        out->as_decimal = out->as_decimal * 10 + digit;
        out->digits++;
    }
    out->hex = out->digits >= 4 && out->digits <= 16;
    out->decimal &= out->digits >= 5 && out->digits <= 10;
    return out->hex || out->decimal;
}

static unsigned collect(const wh_truth *truth, printed names[NAMES_MAX])
{
    unsigned count = 0;
    for (size_t i = 0; i < truth->count && count < NAMES_MAX; i++) {
        const wh_truth_row *row = &truth->rows[i];
        bool seen = !row->sensor[0];
        for (unsigned k = 0; k < count && !seen; k++)
            seen = names[k].row->recording == row->recording && strcasecmp(names[k].row->sensor, row->sensor) == 0;
        if (!seen && read_printed(row, &names[count]))
            count++;
    }
    return count;
}

static bool seen_in(const wh_field_rows *rows, const wh_places *at, const wh_id_match *how, int recording,
                    uint64_t value)
{
    const uint64_t flip = how->inverted ? wh_bits_mask(how->bits) : 0;
    for (size_t i = 0; i < rows->count; i++)
        if ((recording < 0 || rows->row[i].recording == (unsigned)recording) &&
            (wh_places_read(&rows->row[i].bits, at, how->low_bit_first, how->low_byte_first) ^ flip) == value)
            return true;
    return false;
}

/* How many of the names this place shows. */
static void try_place(const wh_field_rows *rows, const printed *names, unsigned count, wh_id_match how, double tried,
                      wh_id_match *best)
{
    const wh_places at = {1, {{(uint16_t)how.at, (uint16_t)how.bits}}};
    how.named = how.matched = 0;
    for (unsigned i = 0; i < count; i++) {
        const bool usable = how.decimal ? names[i].decimal && names[i].as_decimal <= wh_bits_mask(how.bits)
                                        : names[i].hex && names[i].as_hex <= wh_bits_mask(how.bits);
        if (!usable)
            continue;
        how.named++;
        how.matched +=
            seen_in(rows, &at, &how, names[i].row->recording, how.decimal ? names[i].as_decimal : names[i].as_hex);
    }
    if (how.matched == 0 || 2 * how.matched < how.named)
        return;
    how.chance = tried * exp2(-(double)how.bits * how.matched);
    how.found = how.chance <= CHANCE_MAX;
    if (how.found && (!best->found || how.matched > best->matched ||
                      (how.matched == best->matched && how.bits < best->bits && how.chance <= 1e-9)))
        *best = how;
}

void wh_id_by_name(const wh_field_rows *rows, const wh_truth *truth, wh_id_match *out)
{
    printed names[NAMES_MAX];
    memset(out, 0, sizeof *out);
    const unsigned count = collect(truth, names);
    unsigned digits = 0;
    bool any_decimal = false;
    for (unsigned i = 0; i < count; i++) {
        digits = names[i].digits > digits ? names[i].digits : digits;
        any_decimal |= names[i].decimal;
    }
    /* Hexadecimal first: its digits say how wide the field is. */
    for (unsigned decimal = 0; count > 0 && decimal <= (any_decimal ? 1u : 0u) && !out->found; decimal++) {
        static const uint8_t widths[] = {32, 28, 24, 20};
        for (unsigned w = 0; w < (decimal ? sizeof widths : 1); w++) {
            const unsigned bits = decimal ? widths[w] : 4 * digits;
            if (bits < BITS_LEAST || bits > 64)
                continue;
            const double tried = 8.0 * rows->columns * sizeof widths;
            for (unsigned at = 0; at + bits <= rows->columns; at++)
                for (unsigned order = 0; order < 6; order++) {
                    const wh_id_match how = {.at = at,
                                             .bits = bits,
                                             .low_bit_first = order / 2 == 1,
                                             .low_byte_first = order / 2 == 2,
                                             .inverted = order & 1,
                                             .decimal = decimal};
                    if (!how.low_byte_first || bits % 8 == 0)
                        try_place(rows, names, count, how, tried, out);
                }
        }
    }
}
