#include "bits.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

/* 0xA5 0x3C = 1010 0101 0011 1100: counted by hand. */
static void test_read_across_bytes(void **state)
{
    (void)state;
    const uint8_t packed[] = {0xA5, 0x3C};
    assert_int_equal(wh_bits_read(packed, 0, 4), 0xA);
    assert_int_equal(wh_bits_read(packed, 5, 6), 0x29); /* 101 001 */
    assert_int_equal(wh_bits_read(packed, 0, 16), 0xA53C);
    assert_int_equal(wh_bits_read(packed, 3, 0), 0);
    assert_int_equal(wh_bit_get(packed, 0), 1);
    assert_int_equal(wh_bit_get(packed, 15), 0);
}

static void test_write_leaves_neighbours(void **state)
{
    (void)state;
    uint8_t packed[] = {0xFF, 0xFF, 0xFF};
    wh_bits_write(packed, 6, 9, 0x00);
    const uint8_t expected[] = {0xFC, 0x01, 0xFF};
    assert_memory_equal(packed, expected, sizeof packed);
    uint8_t wide[9] = {0};
    wh_bits_write(wide, 4, 64, UINT64_C(0x0123456789ABCDEF));
    const uint8_t shifted[] = {0x00, 0x12, 0x34, 0x56, 0x78, 0x9A, 0xBC, 0xDE, 0xF0};
    assert_memory_equal(wide, shifted, sizeof wide);
    assert_true(wh_bits_read(wide, 4, 64) == UINT64_C(0x0123456789ABCDEF));
}

static void test_reverse_and_mask(void **state)
{
    (void)state;
    assert_int_equal(wh_bits_reverse(0x1, 8), 0x80);
    assert_int_equal(wh_bits_reverse(0xFFF6, 4), 0x6); /* 0110 both ways; high bits dropped */
    assert_int_equal(wh_bits_reverse(0x3, 5), 0x18);
    assert_true(wh_bits_reverse(1, 64) == UINT64_C(1) << 63);
    assert_true(wh_bits_mask(64) == UINT64_MAX);
    assert_int_equal(wh_bits_mask(0), 0);
    assert_int_equal(wh_bits_mask(12), 0xFFF);
}

static void test_pack_clears_the_rest(void **state)
{
    (void)state;
    const uint8_t bits[] = {1, 0, 1, 0, 0, 1, 0, 1, 1, 1};
    uint8_t packed[2] = {0xFF, 0xFF};
    wh_bits_pack(bits, sizeof bits, packed);
    assert_int_equal(packed[0], 0xA5);
    assert_int_equal(packed[1], 0xC0);
    uint8_t back[sizeof bits];
    wh_bits_unpack(packed, sizeof back, back);
    assert_memory_equal(back, bits, sizeof bits);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_read_across_bytes),
        cmocka_unit_test(test_write_leaves_neighbours),
        cmocka_unit_test(test_reverse_and_mask),
        cmocka_unit_test(test_pack_clears_the_rest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
