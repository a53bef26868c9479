#include "assignment.h"

#include "rng.h"

#include <stdbool.h>
#include <stdlib.h>

#include "../near.h"

#define ROWS_MOST    7
#define COLUMNS_MOST 9

/* The least cost over all ways, by trying them. */
static double brute_force(const double *cost, size_t rows, size_t columns, size_t row, unsigned used)
{
    if (row == rows)
        return 0.0;
    double least = INFINITY;
    for (size_t j = 0; j < columns; j++)
        if (!(used >> j & 1))
            least = fmin(least, cost[row * columns + j] + brute_force(cost, rows, columns, row + 1, used | 1u << j));
    return least;
}

static double total(const double *cost, size_t rows, size_t columns, const size_t *column_of_row)
{
    double sum = 0.0;
    unsigned used = 0;
    for (size_t i = 0; i < rows; i++) {
        assert_true(column_of_row[i] < columns);
        assert_false(used >> column_of_row[i] & 1); /* no column twice */
        used |= 1u << column_of_row[i];
        sum += cost[i * columns + column_of_row[i]];
    }
    return sum;
}

/* The prices prove optimality (linear programming duality), whatever found them. */
static void check_prices(const double *cost, size_t rows, size_t columns, const size_t *column_of_row,
                         const double *row_price, const double *column_price)
{
    double sum = 0.0;
    for (size_t i = 0; i < rows; i++) {
        sum += row_price[i];
        for (size_t j = 0; j < columns; j++)
            assert_true(cost[i * columns + j] - row_price[i] - column_price[j] >= -1e-9);
    }
    for (size_t j = 0; j < columns; j++) {
        assert_true(column_price[j] <= 1e-12);
        sum += column_price[j];
    }
    assert_near(sum, total(cost, rows, columns, column_of_row), 1e-9);
}

static void test_against_brute_force(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 41);
    unsigned impossible = 0;
    for (int round = 0; round < 3000; round++) {
        const size_t rows = 1 + wh_rng_below(&rng, ROWS_MOST);
        const size_t columns = rows + wh_rng_below(&rng, COLUMNS_MOST - rows + 1);
        double cost[ROWS_MOST * COLUMNS_MOST];
        /* Some rounds with forbidden pairs, some with small whole numbers, which give many ties. */
        const double forbidden = round % 3 == 0 ? 0.5 : 0.0;
        for (size_t i = 0; i < rows * columns; i++) {
            const double draw = wh_rng_uniform(&rng) * 20.0 - 10.0;
            cost[i] = wh_rng_uniform(&rng) < forbidden ? INFINITY : round % 2 ? floor(draw / 4.0) : draw;
        }
        size_t chosen[ROWS_MOST];
        double row_price[ROWS_MOST], column_price[COLUMNS_MOST];
        const double least = brute_force(cost, rows, columns, 0, 0);
        const wh_status status = wh_assign(cost, rows, columns, chosen, row_price, column_price);
        if (isinf(least)) {
            impossible++;
            assert_int_equal(status, WH_ERR_NOT_FOUND);
            continue;
        }
        assert_int_equal(status, WH_OK);
        assert_near(total(cost, rows, columns, chosen), least, 1e-9);
        check_prices(cost, rows, columns, chosen, row_price, column_price);
    }
    assert_true(impossible > 50 && impossible < 1000); /* both branches were tried */
}

/* By hand: taking the cheapest pair first (1) forces the dearest (100); 2 + 2 is best. */
static void test_greedy_trap(void **state)
{
    (void)state;
    const double cost[] = {1.0, 2.0, 2.0, 100.0};
    size_t chosen[2];
    double row_price[2], column_price[2];
    assert_int_equal(wh_assign(cost, 2, 2, chosen, row_price, column_price), WH_OK);
    assert_int_equal(chosen[0], 1);
    assert_int_equal(chosen[1], 0);
}

/* 60 seats and 2000 sensors: the best is known by construction, a hidden permutation at cost 0 among costs above 1. */
static void test_large(void **state)
{
    (void)state;
    const size_t rows = 60, columns = 2000;
    wh_rng rng;
    wh_rng_seed(&rng, 5);
    double *cost = malloc(rows * columns * sizeof *cost), *column_price = malloc(columns * sizeof *column_price);
    double row_price[60];
    size_t chosen[60];
    for (size_t i = 0; i < rows * columns; i++)
        cost[i] = 1.0 + wh_rng_uniform(&rng);
    for (size_t i = 0; i < rows; i++)
        cost[i * columns + (i * 31 + 7) % columns] = 0.0;
    assert_int_equal(wh_assign(cost, rows, columns, chosen, row_price, column_price), WH_OK);
    for (size_t i = 0; i < rows; i++)
        assert_int_equal(chosen[i], (i * 31 + 7) % columns);
    free(cost);
    free(column_price);
}

static void test_shapes(void **state)
{
    (void)state;
    size_t chosen[2];
    double row_price[2], column_price[2] = {9.0, 9.0};
    const double cost[] = {1.0, 2.0};
    assert_int_equal(wh_assign(cost, 2, 1, chosen, row_price, column_price), WH_ERR_ARGUMENT);
    assert_int_equal(wh_assign(NULL, 0, 2, chosen, row_price, column_price), WH_OK);
    assert_near(column_price[1], 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_brute_force),
        cmocka_unit_test(test_greedy_trap),
        cmocka_unit_test(test_large),
        cmocka_unit_test(test_shapes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
