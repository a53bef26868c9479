/* The loops over every sample of a band, against the formats' definitions. */
#include "iq_wide.h"

#include "../air.h"
#include "../near.h"

#include <string.h>

#define MOST 1000

/* Full scale of the formats is 1.0: unsigned bytes have their zero at 127.5 (RTL2832U), signed ones divide by 128, 16 bits by 32768
 * (SigMF specification 1.2.0, datatypes). */
static double cu8(uint8_t byte)
{
    return ((double)byte - 127.5) / 127.5;
}

static double ci8(uint8_t byte)
{
    return (byte < 128 ? (double)byte : (double)byte - 256.0) / 128.0;
}

static double ci16(uint8_t low, uint8_t high)
{
    const int value = low + 256 * high;
    return (double)(value < 32768 ? value : value - 65536) / 32768.0;
}

static void draw(uint8_t *bytes, size_t count, float *weight)
{
    wh_rng rng;
    wh_rng_seed(&rng, count);
    for (size_t i = 0; i < 4 * count; i++)
        bytes[i] = (uint8_t)(wh_rng_next(&rng) >> 56);
    for (size_t i = 0; i < count; i++)
        weight[i] = (float)(2.0 * wh_rng_uniform(&rng) - 1.0);
}

/* Counts that leave a rest whatever the vector unit takes at once, and addresses that are not aligned. */
static void test_weigh(void **state)
{
    (void)state;
    static uint8_t bytes[4 * MOST + 1];
    static float weight[MOST], real[MOST + 1], imag[MOST + 1];
    for (size_t count = 1; count <= MOST; count = count * 3 + 1) {
        uint8_t *const from = bytes + count % 2;
        draw(from, count, weight);
        real[count] = imag[count] = 77.0f;
        for (int format = WH_IQ_CU8; format <= WH_IQ_CI16; format++) {
            wh_iq_weigh((wh_iq_format)format, from, count, weight, real, imag);
            for (size_t i = 0; i < count; i++) {
                const double re = format == WH_IQ_CU8   ? cu8(from[2 * i])
                                  : format == WH_IQ_CI8 ? ci8(from[2 * i])
                                                        : ci16(from[4 * i], from[4 * i + 1]);
                const double im = format == WH_IQ_CU8   ? cu8(from[2 * i + 1])
                                  : format == WH_IQ_CI8 ? ci8(from[2 * i + 1])
                                                        : ci16(from[4 * i + 2], from[4 * i + 3]);
                assert_near((double)real[i], re * (double)weight[i], 3e-7);
                assert_near((double)imag[i], im * (double)weight[i], 3e-7);
            }
            assert_true(real[count] == 77.0f && imag[count] == 77.0f);
        }
    }
}

static void test_weigh_floats(void **state)
{
    (void)state;
    const float iq[] = {0.5f, -0.25f, NAN, 0.125f, 1.0f, -INFINITY, 0.75f, 0.0f}, weight[] = {2.0f, 2.0f, -1.0f, 4.0f};
    float real[4], imag[4];
    wh_iq_weigh(WH_IQ_CF32, iq, 4, weight, real, imag);
    assert_true(real[0] == 1.0f && imag[0] == -0.5f);
    assert_true(real[1] == 0.0f && imag[2] == 0.0f); /* no numbers */
    assert_true(real[3] == 3.0f && imag[3] == 0.0f);
    assert_int_equal(wh_iq_count_invalid(WH_IQ_CF32, iq, 4), 2);
    assert_int_equal(wh_iq_count_invalid(WH_IQ_CF32, iq, 1), 0);
    assert_int_equal(wh_iq_count_invalid(WH_IQ_CU8, iq, 4), 0);
}

/* A sample counts once, whether I, Q or both are at an end of the range; more of them than 16 bits can count. */
static void test_clipped(void **state)
{
    (void)state;
    const uint8_t bytes[] = {0, 7, 7, 0, 255, 7, 7, 255, 0, 255, 1, 254, 127, 128, 128, 127, 126, 129};
    assert_int_equal(wh_iq_count_clipped(WH_IQ_CU8, bytes, 9), 5);
    assert_int_equal(wh_iq_count_clipped(WH_IQ_CI8, bytes, 9), 2); /* 127 and -128 */
    assert_int_equal(wh_iq_count_clipped(WH_IQ_CI16, bytes, 4), 0);
    const size_t many = 200001;
    uint8_t *all = calloc(2 * many, 1);
    assert_non_null(all);
    assert_int_equal(wh_iq_count_clipped(WH_IQ_CU8, all, many), many);
    assert_int_equal(wh_iq_count_clipped(WH_IQ_CI8, all, many), 0);
    free(all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weigh),
        cmocka_unit_test(test_weigh_floats),
        cmocka_unit_test(test_clipped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
