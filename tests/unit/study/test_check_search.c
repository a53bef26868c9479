#include "check_search.h"

#include "bits.h"
#include "checksum.h"
#include "crc_names.h"
#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COLUMNS 88
#define MESSAGE 72

static wh_frame_bits frames[256];
static wh_check_search result;

/* Frames as sensors send them: a constant byte, an ID, slowly varying numbers, a few status bits. Three sensors. */
static void make_messages(wh_rng *rng, size_t count)
{
    uint32_t ids[3];
    for (int i = 0; i < 3; i++)
        ids[i] = (uint32_t)wh_rng_next(rng);
    memset(frames, 0, sizeof frames);
    for (size_t i = 0; i < count; i++) {
        frames[i].count = COLUMNS;
        wh_bits_write(frames[i].data, 0, 8, 0x5A);
        wh_bits_write(frames[i].data, 8, 32, ids[i % 3]);
        wh_bits_write(frames[i].data, 40, 8, 100 + 20 * (i % 3) + wh_rng_below(rng, 12));
        wh_bits_write(frames[i].data, 48, 8, 60 + wh_rng_below(rng, 10));
        wh_bits_write(frames[i].data, 56, 16, wh_rng_below(rng, 4));
    }
}

static void run(size_t count, unsigned columns)
{
    wh_error error;
    assert_int_equal(wh_check_search_run(frames, count, columns, &result, &error), WH_OK);
}

/* Does the found check hold in frames of other sensors too? Only then is it the right one, however it is written. */
static bool generalises(const wh_check_found *found, const wh_crc *crc, bool swapped, wh_rng *rng)
{
    for (int i = 0; i < 200; i++) {
        wh_frame_bits frame = {.count = MESSAGE + crc->width};
        wh_bits_write(frame.data, 0, 8, 0x5A);
        wh_bits_write(frame.data, 8, 64, wh_rng_next(rng));
        uint64_t value = wh_crc_of(crc, frame.data, MESSAGE);
        if (swapped)
            value = (value & 0xFF) << 8 | value >> 8;
        wh_bits_write(frame.data, MESSAGE, crc->width, value);
        if (!wh_check_found_holds(found, &frame))
            return false;
    }
    return true;
}

/* Every algorithm of the public catalogue (its check values are tested in test_crc.c; the rows are compared there and here with
 * the catalogue at reveng.sourceforge.net), some of them low byte first. */
static void test_catalogue(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 20261);
    for (size_t i = 0; i < wh_crc_name_count(); i++) {
        const wh_crc_name *row = wh_crc_name_at(i);
        for (int swapped = 0; swapped < (row->crc.width == 16 && i % 4 == 0 ? 2 : 1); swapped++) {
            make_messages(&rng, 30);
            for (int k = 0; k < 30; k++) {
                uint64_t value = wh_crc_of(&row->crc, frames[k].data, MESSAGE);
                if (swapped)
                    value = (value & 0xFF) << 8 | value >> 8;
                wh_bits_write(frames[k].data, MESSAGE, row->crc.width, value);
            }
            run(30, MESSAGE + row->crc.width);
            if (result.count < 1)
                fail_msg("%s: nothing found", row->name);
            const wh_check_found *found = &result.found[0];
            if (!generalises(found, &row->crc, swapped, &rng))
                fail_msg("%s: found %s, polynomial %X, start %X", row->name, found->algorithm, found->check.polynomial,
                         found->check.start);
            assert_int_equal(found->holding, found->frames);
            assert_true(found->chance < 1e-6);
            assert_int_equal(result.count, 1);
            /* The name too: nothing else explains the constant over whole messages. */
            if (row->crc.width >= 8 && strcmp(found->algorithm, row->name) != 0)
                fail_msg("%s: called '%s'", row->name, found->algorithm);
        }
    }
}

/* Widths, polynomials, start and final XOR that have no name; the share found, against the number of frames. */
static double share_of_random_crcs(wh_rng *rng, size_t count, int layouts)
{
    int good = 0;
    for (int i = 0; i < layouts; i++) {
        static const uint8_t widths[] = {8, 8, 8, 16, 16, 12, 10, 24};
        wh_crc crc = {.width = widths[wh_rng_below(rng, 8)], .reflect_in = wh_rng_below(rng, 2)};
        const uint32_t mask = (uint32_t)wh_bits_mask(crc.width);
        crc.reflect_out = crc.reflect_in;
        crc.polynomial = ((uint32_t)wh_rng_next(rng) | 1) & mask;
        crc.start = (uint32_t)wh_rng_next(rng) & mask;
        crc.final_xor = (uint32_t)wh_rng_next(rng) & mask;
        make_messages(rng, count);
        for (size_t k = 0; k < count; k++)
            wh_bits_write(frames[k].data, MESSAGE, crc.width, wh_crc_of(&crc, frames[k].data, MESSAGE));
        run(count, MESSAGE + crc.width);
        good += result.count > 0 && result.found[0].check.at.piece[0].at == MESSAGE &&
                generalises(&result.found[0], &crc, false, rng);
    }
    return (double)good / layouts;
}

static void test_random_crcs(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 3);
    const double few = share_of_random_crcs(&rng, 6, 12), ten = share_of_random_crcs(&rng, 10, 12),
                 thirty = share_of_random_crcs(&rng, 30, 12);
    print_message("random CRCs found: %.2f of 12 from 6 frames, %.2f from 10, %.2f from 30\n", few, ten, thirty);
    assert_true(thirty >= 0.9);
    assert_true(ten >= 0.75);
}

static const wh_check sums[] = {
    {.kind = WH_CHECK_SUM, .width = 8, .word = 8, .over = {1, {{0, 72}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_SUM, .width = 8, .word = 8, .start = 0x37, .over = {1, {{0, 72}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_SUM, .width = 8, .word = 8, .final_xor = 0xFF, .over = {1, {{8, 64}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_TWOS_SUM, .width = 8, .word = 8, .over = {1, {{0, 72}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_XOR, .width = 8, .word = 8, .start = 0xA5, .over = {1, {{0, 72}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_XOR, .width = 8, .word = 8, .over = {1, {{8, 64}}}, .at = {1, {{72, 8}}}},
    {.kind = WH_CHECK_SUM, .width = 16, .word = 8, .over = {1, {{0, 72}}}, .at = {1, {{72, 16}}}},
    {.kind = WH_CHECK_SUM, .width = 4, .word = 4, .over = {1, {{0, 72}}}, .at = {1, {{72, 4}}}},
    {.kind = WH_CHECK_SUM, .width = 8, .word = 8, .over = {1, {{0, 72}}}, .at = {1, {{80, 8}}}},
    {.kind = WH_CHECK_SUM, .width = 8, .word = 8, .over = {1, {{8, 80}}}, .at = {1, {{0, 8}}}},
};

static void test_sums(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    for (size_t i = 0; i < sizeof sums / sizeof *sums; i++) {
        make_messages(&rng, 30);
        const unsigned end = sums[i].at.piece[0].at + sums[i].at.piece[0].length;
        const unsigned columns = end > 72 ? end : COLUMNS;
        for (int k = 0; k < 30; k++) {
            frames[k].count = columns;
            if (columns == COLUMNS) /* covered in one case, not in the other */
                wh_bits_write(frames[k].data, 72, 16, wh_rng_next(&rng));
            wh_places_write(&frames[k], &sums[i].at, false, false, wh_check_value(&sums[i], &frames[k]));
        }
        run(30, columns);
        if (result.count < 1)
            fail_msg("sum %zu: nothing found", i);
        const wh_check_found *found = &result.found[0];
        if (found->check.at.piece[0].at != sums[i].at.piece[0].at)
            fail_msg("sum %zu: kind %d of %u bits at %u", i, (int)found->check.kind, found->check.width,
                     found->check.at.piece[0].at);
        for (int k = 0; k < 200; k++) {
            wh_frame_bits frame = {.count = columns};
            for (unsigned c = 0; c < columns; c += 8)
                wh_bits_write(frame.data, c, 8, c == 0 && end > 72 ? 0x5A : wh_rng_next(&rng));
            if (columns < COLUMNS)
                wh_bits_write(frame.data, columns, 16, 0);
            wh_places_write(&frame, &sums[i].at, false, false, wh_check_value(&sums[i], &frame));
            if (!wh_check_found_holds(found, &frame))
                fail_msg("sum %zu: kind %d start %X over %u+%u", i, (int)found->check.kind, found->check.start,
                         found->check.over.piece[0].at, found->check.over.piece[0].length);
        }
    }
}

/* A sum over bytes that are sent low bit first is no sum of the bits as they come. */
static void test_sum_low_bit_first(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 6);
    make_messages(&rng, 30);
    for (int k = 0; k < 30; k++) {
        frames[k].count = 80;
        wh_bits_write(frames[k].data, 72, 8, wh_sum_words(frames[k].data, 72, 8, 8));
        wh_frame_turn_bytes(&frames[k], 0);
    }
    run(30, 80);
    assert_int_equal(result.count, 1);
    assert_true(result.found[0].bytes_turned);
    assert_int_equal(result.found[0].phase, 0);
    assert_int_equal(result.found[0].check.kind, WH_CHECK_SUM);
    assert_int_equal(result.found[0].holding, result.found[0].frames);
}

/* Parity needs many frames: each tells one bit. Here two: odd over the first 39 bits, and a CRC at the end. */
static void test_parity_beside_crc(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 8);
    const wh_crc crc = {8, 0x07, 0, 0, false, false};
    for (int k = 0; k < 60; k++) {
        frames[k] = (wh_frame_bits){.count = 80};
        wh_bits_write(frames[k].data, 0, 39, wh_rng_next(&rng));
        wh_bit_put(frames[k].data, 39, wh_parity_of(frames[k].data, 39) ^ 1);
        wh_bits_write(frames[k].data, 40, 32, wh_rng_next(&rng));
        wh_bits_write(frames[k].data, 72, 8, wh_crc_of(&crc, frames[k].data, 72));
    }
    run(60, 80);
    assert_int_equal(result.count, 2);
    assert_string_equal(result.found[0].algorithm, "CRC-8/SMBUS");
    assert_int_equal(result.found[1].check.kind, WH_CHECK_PARITY_ODD);
    assert_int_equal(result.found[1].check.at.piece[0].at, 39);
    assert_int_equal(result.found[1].check.over.piece[0].length, 39);
}

/* Frames without a check: what is proposed would be chance. At most the stated chance in a thousand, so of 15 kinds
 * two have a chance of 1 in 10 000 (Poisson, mean 0.015); of structures that look like checks (numbers
 * that move together, a status that hardly changes) nothing may come at all. */
static void test_never_proposes_chance(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 9);
    int proposed = 0;
    for (int kind = 0; kind < 15; kind++) {
        const size_t count = 4 + wh_rng_below(&rng, 40);
        make_messages(&rng, count);
        for (size_t i = 0; i < count; i++) {
            if (kind % 3 == 0)
                wh_bits_write(frames[i].data, MESSAGE, 16, wh_rng_next(&rng));
            if (kind % 3 == 1) /* two numbers that rise together with time */
                wh_bits_write(frames[i].data, 56, 16, 257 * i);
            frames[i].count = COLUMNS;
        }
        run(count, COLUMNS);
        proposed += result.count > 0;
        if (result.count > 0)
            print_message("kind %d, %zu frames: check of %u bits at %u, chance %g\n", kind, count,
                          result.found[0].check.width, result.found[0].check.at.piece[0].at, result.found[0].chance);
    }
    assert_true(proposed <= 1);
}

/* Some frames came with wrong bits: the check is found in the others and says how many it does not hold in. */
static void test_wrong_bits(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 11);
    const wh_crc crc = {8, 0x2F, 0xFF, 0xFF, false, false};
    make_messages(&rng, 30);
    for (int k = 0; k < 30; k++) {
        frames[k].count = 80;
        wh_bits_write(frames[k].data, 72, 8, wh_crc_of(&crc, frames[k].data, 72));
        if (k >= 25) /* the least reliable stand last */
            frames[k].data[k % 9] ^= (uint8_t)(1u << wh_rng_below(&rng, 8));
    }
    run(30, 80);
    assert_int_equal(result.count, 1);
    assert_string_equal(result.found[0].algorithm, "CRC-8/AUTOSAR");
    assert_int_equal(result.found[0].holding, 25);
}

static void test_too_few_or_nothing(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 12);
    run(0, 80);
    assert_int_equal(result.count, 0);
    make_messages(&rng, 1);
    run(1, 80);
    assert_int_equal(result.count, 0);
    for (int i = 1; i < 20; i++)
        frames[i] = frames[0];
    run(20, 80);
    assert_int_equal(result.count, 0);
    wh_error error;
    assert_int_equal(wh_check_search_run(frames, 20, 257, &result, &error), WH_ERR_LIMIT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_catalogue),
        cmocka_unit_test(test_random_crcs),
        cmocka_unit_test(test_sums),
        cmocka_unit_test(test_sum_low_bit_first),
        cmocka_unit_test(test_parity_beside_crc),
        cmocka_unit_test(test_never_proposes_chance),
        cmocka_unit_test(test_wrong_bits),
        cmocka_unit_test(test_too_few_or_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
