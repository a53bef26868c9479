#include "edge_grid.h"
#include "rng.h"

#include "../near.h"

/* Edges of random chips of length `chip`, each shifted by Gaussian jitter; number[i] is edge i's place on the grid. */
static size_t edges_of(double chip, double jitter, size_t chips, uint64_t seed, double *edge, double *number)
{
    wh_rng rng;
    wh_rng_seed(&rng, seed);
    size_t count = 0;
    for (size_t k = 1; k < chips; k++) {
        double pair[2];
        wh_rng_gauss_pair(&rng, pair);
        if (!wh_rng_below(&rng, 2))
            continue;
        number[count] = (double)k;
        edge[count++] = 1234.5 + chip * ((double)k + jitter * pair[0]);
    }
    return count;
}

/* Slope of the least-squares line through the edges, their places known: nothing unbiased is better (Gauss and Markov). */
static double best_slope(const double *edge, const double *number, size_t count)
{
    double n = (double)count, sk = 0.0, st = 0.0, skk = 0.0, skt = 0.0;
    for (size_t i = 0; i < count; i++) {
        sk += number[i];
        st += edge[i];
        skk += number[i] * number[i];
        skt += number[i] * edge[i];
    }
    return (skt - sk * st / n) / (skk - sk * sk / n);
}

static void test_finds_the_chip_and_how_sure_it_is(void **state)
{
    (void)state;
    double edge[600], number[600];
    unsigned within_two = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        const double chip = 7.0 + 3.1 * (double)seed;
        const size_t count = edges_of(chip, 0.05, 400, seed, edge, number);
        wh_edge_grid grid;
        assert_true(wh_edge_grid_find(edge, count, 5.0, 300.0, &grid));
        assert_near(grid.chip, best_slope(edge, number, count), 1e-6 * chip);
        assert_near(grid.jitter, 0.05, 0.01);
        /* Mean of exp(i phase) of a Gaussian phase of deviation 2 pi 0.05: exp(-(0.1 pi)^2 / 2). */
        assert_near(grid.coherence, 0.952, 0.02);
        within_two += fabs(grid.chip - chip) < 2.0 * grid.error;
    }
    /* 95 % of Gaussian errors are within two deviations: 38 of 40, less than 33 once in 2000 runs. */
    assert_true(within_two >= 33);
}

static void test_takes_the_coarsest_grid_that_fits(void **state)
{
    (void)state;
    double edge[64];
    for (size_t i = 0; i < 64; i++) /* a preamble: edges at every chip, which lie on all finer grids too */
        edge[i] = 10.0 * (double)i;
    wh_edge_grid grid;
    assert_true(wh_edge_grid_find(edge, 64, 2.0, 100.0, &grid));
    assert_near(grid.chip, 10.0, 0.01);
    /* Pulses of one and two of three parts: the grid is the part, not the pulse. */
    size_t count = 0;
    for (size_t i = 0; i < 30; i++) {
        edge[count++] = 30.0 * (double)i;
        edge[count++] = 30.0 * (double)i + (i * 7 % 3 ? 10.0 : 20.0);
    }
    assert_true(wh_edge_grid_find(edge, count, 2.0, 100.0, &grid));
    assert_near(grid.chip, 10.0, 0.01);
}

static void test_random_places_lie_on_no_grid(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 9);
    for (int round = 0; round < 50; round++) {
        double edge[150], at = 0.0;
        for (size_t i = 0; i < 150; i++)
            edge[i] = at += 5.0 + 100.0 * wh_rng_uniform(&rng);
        wh_edge_grid grid;
        if (wh_edge_grid_find(edge, 150, 5.0, 100.0, &grid))
            assert_true(grid.coherence < 0.75);
    }
}

static void test_says_when_there_are_too_few(void **state)
{
    (void)state;
    double edge[WH_EDGE_GRID_LEAST];
    for (size_t i = 0; i < WH_EDGE_GRID_LEAST; i++)
        edge[i] = 4.0 * (double)i;
    wh_edge_grid grid;
    assert_true(wh_edge_grid_find(edge, WH_EDGE_GRID_LEAST, 2.0, 10.0, &grid));
    assert_false(wh_edge_grid_find(edge, WH_EDGE_GRID_LEAST - 1, 2.0, 10.0, &grid));
    for (size_t i = 0; i < WH_EDGE_GRID_LEAST; i++)
        edge[i] = 1.0;
    assert_false(wh_edge_grid_find(edge, WH_EDGE_GRID_LEAST, 2.0, 10.0, &grid));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_finds_the_chip_and_how_sure_it_is),
        cmocka_unit_test(test_takes_the_coarsest_grid_that_fits),
        cmocka_unit_test(test_random_places_lie_on_no_grid),
        cmocka_unit_test(test_says_when_there_are_too_few),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
