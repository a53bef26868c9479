/* Pictures: a tone stands where it was sent, everything is bounded, chips come out as they went in. */
#include "../near.h"
#include "bit_map_svg.h"
#include "burst_picture.h"
#include "burst_trace.h"
#include "spectrogram.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define RATE 200e3

static void put(unsigned char *at, double value)
{
    *at = (unsigned char)lrint(127.5 + 127.0 * value);
}

/* 2 million samples of a tone of 0.5 at an eighth of the rate, from the middle on. */
static void test_spectrogram(void **state)
{
    enum { COUNT = 2000000 };
    (void)state;
    unsigned char *iq = malloc(2 * (size_t)COUNT);
    for (size_t n = 0; n < COUNT; n++) {
        const double level = n < COUNT / 2 ? 0.0 : 0.5, angle = 2.0 * acos(-1.0) * (double)(n % 8) / 8.0;
        put(iq + 2 * n, level * cos(angle));
        put(iq + 2 * n + 1, level * sin(angle));
    }
    wh_spectrogram *s = wh_spectrogram_create();
    for (size_t n = 0; n < COUNT; n += 77777) /* any division into blocks */
        wh_spectrogram_push(s, WH_IQ_CU8, iq + 2 * n, COUNT - n < 77777 ? COUNT - n : 77777);
    assert_int_equal(wh_spectrogram_samples(s), COUNT);
    assert_true(wh_spectrogram_power(s, COUNT / 4, 0.125) < 1e-3);
    assert_true(wh_spectrogram_power(s, 3 * COUNT / 4, 0.125) > 0.1);
    assert_true(wh_spectrogram_power(s, 3 * COUNT / 4, -0.125) < 1e-3); /* not mirrored */
    wh_text svg = {0};
    const wh_spectrogram_mark mark = {COUNT / 2, COUNT, 24e3, 26e3, 7};
    wh_spectrogram_svg(s, "a & b", RATE, &mark, 1, &svg);
    assert_false(svg.failed);
    assert_true(svg.length < 200000);
    assert_non_null(strstr(svg.data, "a &amp; b"));
    assert_non_null(strstr(svg.data, "data:image/bmp;base64,Qk")); /* RFC 4648: "BM" */
    assert_non_null(strstr(svg.data, ">7</text>"));
    wh_text_free(&svg);
    wh_spectrogram_destroy(&s);
    free(iq);
}

/* Two tones at +-20 kHz, 5 kchip/s, chips 1 1 0 1 0 0 over and over. */
static const unsigned char pattern[] = {1, 1, 0, 1, 0, 0};

static float complex *two_tones(size_t chips, size_t *count)
{
    const size_t per_chip = (size_t)(RATE / 5e3), quiet = 400;
    double phase = 0.0;
    *count = chips * per_chip + 2 * quiet;
    float complex *z = calloc(*count, sizeof *z);
    for (size_t n = 0; n < chips * per_chip; n++) {
        phase += 2.0 * acos(-1.0) * (pattern[n / per_chip % 6] ? 20e3 : -20e3) / RATE;
        z[quiet + n] = (float)(0.3 * cos(phase)) + (float)(0.3 * sin(phase)) * (float complex)I;
    }
    unsigned seed = 1; /* a little noise, from a linear congruence */
    for (size_t n = 0; n < *count; n++) {
        seed = seed * 1103515245u + 12345u;
        const float a = (float)((seed >> 16 & 0x7FFF) / 32768.0 - 0.5);
        seed = seed * 1103515245u + 12345u;
        const float b = (float)((seed >> 16 & 0x7FFF) / 32768.0 - 0.5);
        z[n] += 0.01f * (a + b * (float complex)I);
    }
    return z;
}

static void test_trace(void **state)
{
    (void)state;
    size_t count;
    float complex *z = two_tones(96, &count);
    const wh_baseband baseband = {z, count, RATE, 1e-4 / 6.0 / RATE, 40e3, 0.0};
    const wh_radio radio = {.modulation = WH_MOD_FSK,
                            .chip_rate_hz = 5e3,
                            .rate_tolerance = 0.02,
                            .deviation_hz = 20e3,
                            .deviation_tolerance = 0.2};
    wh_burst_trace *trace = calloc(1, sizeof *trace);
    assert_true(wh_burst_trace_make(&baseband, &radio, trace));
    assert_true(trace->keyed);
    assert_false(trace->on_off);
    assert_near(trace->chip, 40.0, 0.1);
    assert_near(trace->deviation_hz, 20e3, 500.0);
    /* every chip that lies wholly within the burst is as it was sent */
    unsigned looked = 0;
    for (size_t k = 0; k < trace->chip_count; k++) {
        const double middle = trace->start + ((double)k + 0.5) * trace->chip - 400.0;
        if (middle < 20 || middle > 96 * 40 - 20)
            continue;
        assert_int_equal(trace->chips[k], pattern[(size_t)(middle / 40.0) % 6]);
        assert_near(wh_burst_trace_at(trace, middle + 400.0), trace->chips[k] ? 20e3 : -20e3, 2e3);
        looked++;
    }
    assert_true(looked >= 94);
    assert_near(trace->level[count / 2], 0.3, 0.02);
    wh_burst_trace_free(trace);
    free(trace);
    free(z);
}

static void test_picture(void **state)
{
    static const uint8_t bits[] = {0xA5, 0xF0};
    (void)state;
    size_t count;
    float complex *z = two_tones(960, &count);
    wh_burst_view view = {.title = "<burst>",
                          .baseband = {z, count, RATE, 1e-4 / 6.0 / RATE, 40e3, 0.0},
                          .first_sample = 1000000,
                          .samples_per = 5.0,
                          .bits = bits,
                          .bit_count = 12,
                          .bit_letters = "IIIIppppkkkk"};
    wh_text svg = {0};
    wh_error error;
    assert_int_equal(wh_burst_picture(&view, &svg, &error), WH_OK);
    assert_non_null(strstr(svg.data, "&lt;burst&gt;"));
    assert_null(strstr(svg.data, "<script"));
    static const char *const parts[] = {
        "Envelope", "Instantaneous frequency", "Eye", "Tones", "Bits of the frame", "IIIIppppkkkk", "101001011111"};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        assert_non_null(strstr(svg.data, parts[i]));
    assert_non_null(strstr(svg.data, ">1100000</text>")); /* a tick: sample numbers are the recording's */
    assert_true(svg.length < 120000);
    wh_text_clear(&svg);
    view.baseband.count = 15;
    assert_int_equal(wh_burst_picture(&view, &svg, &error), WH_ERR_ARGUMENT);
    wh_text_free(&svg);
    free(z);
}

static void test_bit_map(void **state)
{
    uint8_t bits[50 * 32] = {0};
    (void)state;
    bits[49 * 32] = 0xFF;
    bits[31] = 0x01;
    const wh_bit_map map = {.title = "m", .columns = 256, .rows = 50, .bits = bits, .row_bytes = 32};
    wh_text svg = {0};
    assert_true(wh_bit_map_svg(&map, &svg) > 4 * WH_BIT_MAP_ROWS_MAX * 10); /* four lines of 64 */
    assert_non_null(strstr(svg.data, "the first 40 of 50"));
    assert_null(strstr(svg.data, "11111111")); /* the row left out */
    assert_non_null(strstr(svg.data, "0000000000000000000000000000000000000000000000000000000000000001<"));
    wh_text_free(&svg);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_spectrogram), cmocka_unit_test(test_trace),
                                       cmocka_unit_test(test_picture), cmocka_unit_test(test_bit_map)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
