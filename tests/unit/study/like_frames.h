/* Emissions and frames made from digits, for tests of what lays them over each other and reads them. */
#ifndef WH_TEST_LIKE_FRAMES_H
#define WH_TEST_LIKE_FRAMES_H

#include "chip_align.h"
#include "distinct_frames.h"
#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define LIKE_PAD 5 /* chips of nothing before and after */

/* Add an emission of these chips, all sure. */
static inline wh_study_emission *like_add(wh_emission_set *set, const char *digits, bool keyed)
{
    const size_t length = strlen(digits);
    if (set->count == set->capacity) {
        set->capacity = set->capacity ? 2 * set->capacity : 16;
        set->items = realloc(set->items, set->capacity * sizeof *set->items);
        assert_non_null(set->items);
    }
    wh_study_emission *e = &set->items[set->count++];
    *e = (wh_study_emission){.count = length + 2 * LIKE_PAD,
                             .keyed = keyed,
                             .chip_s = 1e-4,
                             .snr_db = 20.0,
                             .begin = LIKE_PAD,
                             .end = LIKE_PAD + length,
                             .strong = true};
    e->llr = calloc(e->count, sizeof *e->llr);
    e->on = calloc(e->count, sizeof *e->on);
    assert_true(e->llr && e->on);
    for (size_t i = 0; i < e->count; i++) {
        const bool sent = i >= e->begin && i < e->end;
        e->llr[i] = !sent ? -1.0f : digits[i - e->begin] == '1' ? 20.0f : -20.0f;
        e->on[i] = !sent ? -0.3f : keyed && digits[i - e->begin] == '0' ? -0.12f : 0.7f;
    }
    return e;
}

/* Append the chips of `count` bits in a code given by its two words. */
static inline void like_put(char *text, const uint8_t *bits, size_t count, const char *one, const char *zero)
{
    for (size_t i = 0; i < count; i++)
        strcat(text, bits[i] ? one : zero);
}

/* Bits with an edge at every start and one in the middle of a one (FM1), from a last chip of `level`. */
static inline void like_put_mark(char *text, const uint8_t *bits, size_t count, unsigned level)
{
    for (size_t i = 0; i < count; i++) {
        level = !level;
        strcat(text, level ? "1" : "0");
        level = bits[i] ? !level : level;
        strcat(text, level ? "1" : "0");
    }
}

/* 32 bits: an ID of 16 that three sensors have, a number that wanders, and the XOR of the bytes before. */
static inline void like_bits(unsigned frame, uint8_t bits[32])
{
    static const unsigned ids[3] = {0xA6C1, 0x5B3E, 0x90D7};
    wh_rng rng;
    wh_rng_seed(&rng, 77 + frame);
    uint8_t bytes[4] = {(uint8_t)(ids[frame % 3] >> 8), (uint8_t)ids[frame % 3],
                        (uint8_t)(0x80 + wh_rng_below(&rng, 64)), 0};
    bytes[3] = bytes[0] ^ bytes[1] ^ bytes[2];
    for (unsigned i = 0; i < 32; i++)
        bits[i] = (uint8_t)((unsigned)bytes[i / 8] >> (7 - i % 8) & 1u);
}

#endif
