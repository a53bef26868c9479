#include "gas_law.h"

#include "bits.h"
#include "rng.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define ROWS 60

static wh_field_row row[ROWS];
static wh_field_rows rows = {.columns = 72, .count = ROWS, .row = row};
static wh_columns columns;
static wh_gas_law law;

/* Three sensors warm and cool in tires of constant volume. Bits 0 to 23 ID, 24 to 31 absolute pressure in 2.5 kPa, 32 to 39
 * temperature in degC from -50 on, 40 to 47 a battery that falls, 48 to 71 random. `gas`: pressure follows the ideal gas law; else
 * it wanders by itself. */
static void make(uint64_t seed, bool gas)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    const wh_check_search none = {.count = 0};
    double kpa = 0.0, celsius = 0.0, wander = 0.0;
    uint64_t id = 0;
    for (unsigned i = 0; i < ROWS; i++) {
        if (i % 20 == 0) {
            id = wh_rng_next(&rng);
            kpa = 500.0 + 100.0 * wh_rng_uniform(&rng);
            celsius = 15.0;
            wander = 0.0;
        }
        celsius += 6.0 * (wh_rng_uniform(&rng) - 0.4);
        wander += 6.0 * (wh_rng_uniform(&rng) - 0.5);
        const double now = kpa * ((gas ? celsius : 15.0 + wander) + 273.15) / 288.15;
        row[i] = (wh_field_row){.bits = {.count = 72}, .recording = i / 20, .sensor = i / 20, .at_s = i};
        wh_bits_write(row[i].bits.data, 0, 24, id);
        wh_bits_write(row[i].bits.data, 24, 8, (uint64_t)lround(now / 2.5));
        wh_bits_write(row[i].bits.data, 32, 8, (uint64_t)lround(celsius + 50.0));
        wh_bits_write(row[i].bits.data, 40, 8, 200 - i % 20 / 3);
        wh_bits_write(row[i].bits.data, 48, 24, wh_rng_next(&rng));
    }
    wh_columns_classify(&rows, 3, &none, 0, &columns);
    wh_gas_law_run(&rows, &columns, &law);
}

/* The ideal gas law at constant volume (Gay-Lussac): T = 0 K lies 273.15 degC below zero, so 223 counts below count 0. */
static void test_pressure_and_temperature(void **state)
{
    (void)state;
    unsigned right = 0;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        make(seed, true);
        if (law.count == 0)
            continue;
        const wh_number_place *p = &columns.number[law.pair[0].pressure], *t = &columns.number[law.pair[0].temperature];
        right += p->at + p->bits == 32 && t->at + t->bits == 40 && law.pair[0].correlation > 0.5 &&
                 fabs(law.pair[0].zero_counts - 223.15) < 60.0;
    }
    assert_true(right >= 18);
}

/* Numbers that move by themselves: at a stated chance of one in a hundred, of 40 tries more than 3 have one of 0.001. */
static void test_nothing_together(void **state)
{
    (void)state;
    unsigned claimed = 0;
    for (uint64_t seed = 101; seed <= 140; seed++) {
        make(seed, false);
        claimed += law.count > 0;
    }
    assert_true(claimed <= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pressure_and_temperature),
        cmocka_unit_test(test_nothing_together),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
