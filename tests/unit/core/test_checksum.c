#include "checksum.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* Microchip UHF transceiver evaluation kit guide, table "Data Protocol": the check is the two's complement of the
 * sum over ID and data. 64 00 EB (temperature 23.5 degC) sums to 0x14F, 64 FF CE (-5.0 degC) to 0x231. */
static void test_published_sums(void **state)
{
    (void)state;
    static const uint8_t warm[] = {0x64, 0x00, 0xEB}, cold[] = {0x64, 0xFF, 0xCE};
    assert_int_equal(wh_sum_words(warm, 24, 8, 16), 0x14F);
    assert_int_equal(wh_sum_words(warm, 24, 8, 8), 0x4F);
    assert_int_equal(wh_sum_words(cold, 24, 8, 16), 0x231);
    assert_int_equal(wh_sum_words(cold, 24, 8, 8), 0x31);
}

/* By hand: nibbles A + 5 + 3 + C = 0x1E; five-bit words of 10100 10100 11110 0(0000) = 20 + 20 + 30 + 0. */
static void test_words_of_other_widths(void **state)
{
    (void)state;
    static const uint8_t data[] = {0xA5, 0x3C};
    assert_int_equal(wh_sum_words(data, 16, 4, 8), 0x1E);
    assert_int_equal(wh_sum_words(data, 16, 4, 4), 0xE);
    assert_int_equal(wh_sum_words(data, 16, 5, 8), 70);
    assert_int_equal(wh_xor_words(data, 16, 8, 8), 0x99);
    assert_int_equal(wh_xor_words(data, 16, 4, 4), 0x0); /* A ^ 5 ^ 3 ^ C */
    /* 12 bits in bytes: A5, then 3 padded to 30. */
    assert_int_equal(wh_sum_words(data, 12, 8, 8), 0xD5);
    assert_int_equal(wh_sum_words((const uint8_t[]){0xFF, 0xFF, 0xFF, 0xFF, 0, 0, 0, 2}, 64, 32, 32), 1);
    assert_int_equal(wh_sum_words(data, 0, 8, 8), 0);
}

static void test_parity(void **state)
{
    (void)state;
    static const uint8_t data[] = {0xA5, 0x38}; /* four ones, then three */
    assert_int_equal(wh_parity_of(data, 8), 0);
    assert_int_equal(wh_parity_of(data, 16), 1);
    assert_int_equal(wh_parity_of(data, 12), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_sums),
        cmocka_unit_test(test_words_of_other_widths),
        cmocka_unit_test(test_parity),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
