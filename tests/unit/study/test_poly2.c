#include "poly2.h"

#include "rng.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static wh_poly2 of(uint64_t low)
{
    return (wh_poly2){{low}};
}

/* (x^2 + 1) = (x + 1)^2, and x^8 + x^2 + x + 1 = (x + 1)(x^7 + x^6 + x^5 + x^4 + x^3 + x^2 + 1): by hand. */
static void test_small_ones(void **state)
{
    (void)state;
    const wh_poly2 square = of(5), atm = of(0x107), single = of(3);
    wh_poly2 rest = wh_poly2_mod(&square, &single);
    assert_int_equal(wh_poly2_degree(&rest), -1);
    rest = wh_poly2_mod(&atm, &single);
    assert_int_equal(wh_poly2_degree(&rest), -1);
    const wh_poly2 common = wh_poly2_gcd(&square, &atm);
    assert_int_equal(common.word[0], 3);
    uint64_t divisors[8];
    assert_int_equal(wh_poly2_divisors(0x107, 7, divisors, 8), 1);
    assert_int_equal(divisors[0], 0xFD);
    assert_int_equal(wh_poly2_divisors(0x107, 8, divisors, 8), 1);
    assert_int_equal(wh_poly2_divisors(0x107, 3, divisors, 8), 0);
}

/* x^255 modulo the AES polynomial x^8 + x^4 + x^3 + x + 1 is 1, for its roots are in the field of 256 elements. */
static void test_long_ones(void **state)
{
    (void)state;
    wh_poly2 power = of(1);
    power = wh_poly2_up(&power, 255);
    assert_int_equal(wh_poly2_degree(&power), 255);
    const wh_poly2 aes = of(0x11B);
    const wh_poly2 rest = wh_poly2_mod(&power, &aes);
    assert_int_equal(rest.word[0], 1);
    assert_int_equal(rest.word[1] | rest.word[2] | rest.word[3], 0);
}

static void test_shifts_and_bits(void **state)
{
    (void)state;
    static const uint8_t packed[] = {0xA5, 0x3C};
    const wh_poly2 a = wh_poly2_of_bits(packed, 12);
    assert_int_equal(a.word[0], 0xA53);
    const wh_poly2 up = wh_poly2_up(&a, 127), down = wh_poly2_down(&up, 127), low = wh_poly2_low(&up, 129);
    assert_int_equal(down.word[0], 0xA53);
    assert_int_equal(wh_poly2_degree(&up), 138);
    assert_int_equal(wh_poly2_degree(&low), 128); /* 0xA53 has ones at 0 and 1 */
}

/* Property: multiples of g have a common divisor that g divides, and of several hardly more than g. */
static void test_common_divisor_of_multiples(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 4);
    unsigned exact = 0;
    for (int round = 0; round < 200; round++) {
        const wh_poly2 g = of((wh_rng_next(&rng) & 0xFFFF) | 0x10001);
        wh_poly2 common = of(0);
        for (int i = 0; i < 5; i++) {
            wh_poly2 a = {{wh_rng_next(&rng), wh_rng_next(&rng)}};
            const wh_poly2 rest = wh_poly2_mod(&a, &g);
            a = wh_poly2_add(&a, &rest);
            common = wh_poly2_gcd(&common, &a);
        }
        const wh_poly2 rest = wh_poly2_mod(&common, &g);
        assert_int_equal(wh_poly2_degree(&rest), -1);
        exact += wh_poly2_degree(&common) == 16;
    }
    /* The cofactors are coprime but for 1/16 + ... (x or x + 1 divides all five with 2 * 2^-5). */
    assert_true(exact > 160);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_small_ones),
        cmocka_unit_test(test_long_ones),
        cmocka_unit_test(test_shifts_and_bits),
        cmocka_unit_test(test_common_divisor_of_multiples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
