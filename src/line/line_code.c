#include "line_code.h"

#include <string.h>

#define UNBOUNDED_RUN 32

const char *wh_line_kind_name(wh_line_kind kind)
{
    static const char *const names[WH_LINE_KIND_COUNT] = {
        [WH_LINE_NRZ] = "nrz",
        [WH_LINE_MANCHESTER] = "manchester",
        [WH_LINE_DIFFERENTIAL_MANCHESTER] = "differential-manchester",
        [WH_LINE_BIPHASE_MARK] = "biphase-mark",
        [WH_LINE_BIPHASE_SPACE] = "biphase-space",
        [WH_LINE_PULSE_WIDTH] = "pulse-width",
    };
    return (unsigned)kind < WH_LINE_KIND_COUNT ? names[kind] : "unknown";
}

unsigned wh_line_chips_min(const wh_line_spec *spec)
{
    if (spec->kind == WH_LINE_PULSE_WIDTH)
        return spec->zero_count < spec->one_count ? spec->zero_count : spec->one_count;
    return spec->kind == WH_LINE_NRZ ? 1 : 2;
}

unsigned wh_line_chips_max(const wh_line_spec *spec)
{
    if (spec->kind == WH_LINE_PULSE_WIDTH)
        return spec->zero_count > spec->one_count ? spec->zero_count : spec->one_count;
    return spec->kind == WH_LINE_NRZ ? 1 : 2;
}

/* Longest run of 0 in two patterns sent one after the other. */
static unsigned zero_run(const uint8_t *a, unsigned a_count, const uint8_t *b, unsigned b_count)
{
    unsigned run = 0, longest = 0;
    for (unsigned i = 0; i < a_count + b_count; i++) {
        const uint8_t chip = i < a_count ? a[i] : b[i - a_count];
        run = chip ? 0 : run + 1;
        longest = run > longest ? run : longest;
    }
    return longest;
}

unsigned wh_line_longest_zero_run(const wh_line_spec *spec)
{
    if (spec->kind == WH_LINE_NRZ)
        return UNBOUNDED_RUN;
    if (spec->kind != WH_LINE_PULSE_WIDTH)
        return 2; /* an edge at least once a bit, never two chips from the next */
    const uint8_t *chips[2] = {spec->zero_chips, spec->one_chips};
    const unsigned counts[2] = {spec->zero_count, spec->one_count};
    unsigned longest = 0;
    for (int first = 0; first < 2; first++) {
        if (!memchr(chips[first], 1, counts[first]))
            return UNBOUNDED_RUN; /* a bit without any carrier: such bits can follow each other */
        for (int second = 0; second < 2; second++) {
            const unsigned run = zero_run(chips[first], counts[first], chips[second], counts[second]);
            longest = run > longest ? run : longest;
        }
    }
    return longest;
}

/* The two chips of one bit of a code with half-bit chips. */
static void encode_halves(const wh_line_spec *spec, uint8_t bit, uint8_t level, uint8_t halves[2])
{
    const uint8_t sense = bit ^ (uint8_t)spec->inverted;
    switch (spec->kind) {
    case WH_LINE_MANCHESTER:
        halves[0] = sense;
        halves[1] = !sense;
        break;
    case WH_LINE_DIFFERENTIAL_MANCHESTER:
        halves[0] = sense ? level : !level;
        halves[1] = !halves[0];
        break;
    case WH_LINE_BIPHASE_MARK:
        halves[0] = !level;
        halves[1] = bit ? level : !level;
        break;
    default: /* biphase-space */
        halves[0] = !level;
        halves[1] = bit ? !level : level;
        break;
    }
}

size_t wh_line_encode(const wh_line_spec *spec, const uint8_t *bits, size_t bit_count, uint8_t *level, uint8_t *chips,
                      size_t capacity)
{
    size_t needed = 0;
    for (size_t i = 0; i < bit_count; i++) {
        if (spec->kind == WH_LINE_PULSE_WIDTH)
            needed += bits[i] ? spec->one_count : spec->zero_count;
        else
            needed += wh_line_chips_max(spec);
    }
    if (needed > capacity)
        return 0;
    size_t count = 0;
    uint8_t last = *level ? 1 : 0;
    for (size_t i = 0; i < bit_count; i++) {
        const uint8_t bit = bits[i] ? 1 : 0;
        if (spec->kind == WH_LINE_NRZ) {
            chips[count++] = bit ^ (uint8_t)spec->inverted;
        } else if (spec->kind == WH_LINE_PULSE_WIDTH) {
            const size_t length = bit ? spec->one_count : spec->zero_count;
            memcpy(chips + count, bit ? spec->one_chips : spec->zero_chips, length);
            count += length;
        } else {
            encode_halves(spec, bit, last, chips + count);
            count += 2;
        }
        last = count ? chips[count - 1] : last;
    }
    *level = last;
    return count;
}
