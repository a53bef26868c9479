#include "match_odds.h"

#include "rng.h"

#include <stdlib.h>
#include <string.h>

#include "../near.h"

#define SEATS_MOST   7
#define SENSORS_MOST 8

/* Every matching, by trying them: weight sums in all, and of those with each pair. */
typedef struct tally {
    unsigned seats, sensors;
    double weight[SEATS_MOST][SENSORS_MOST]; /* 0: no such edge */
    double empty[SEATS_MOST];
    int of_seat[SEATS_MOST];
    double all, pair[SEATS_MOST][SENSORS_MOST], none[SEATS_MOST], heaviest;
} tally;

static void try_all(tally *t, unsigned seat, unsigned used, double weight)
{
    if (seat == t->seats) {
        t->all += weight;
        t->heaviest = fmax(t->heaviest, weight);
        for (unsigned p = 0; p < t->seats; p++) {
            if (t->of_seat[p] < 0)
                t->none[p] += weight;
            else
                t->pair[p][t->of_seat[p]] += weight;
        }
        return;
    }
    t->of_seat[seat] = -1;
    try_all(t, seat + 1, used, weight * t->empty[seat]);
    for (unsigned s = 0; s < t->sensors; s++) {
        if (used >> s & 1 || t->weight[seat][s] == 0.0)
            continue;
        t->of_seat[seat] = (int)s;
        try_all(t, seat + 1, used | 1u << s, weight * t->weight[seat][s]);
    }
}

static wh_match match_of(const tally *t, wh_match_edge *edges)
{
    wh_match match = {.seat_count = t->seats, .sensor_count = t->sensors, .edges = edges};
    for (unsigned p = 0; p < t->seats; p++) {
        match.log_empty[p] = log(t->empty[p]);
        for (unsigned s = 0; s < t->sensors; s++)
            if (t->weight[p][s] > 0.0)
                edges[match.edge_count++] = (wh_match_edge){p, s, log(t->weight[p][s]), 0.0};
    }
    return match;
}

static double weight_of_best(const tally *t, const wh_match *match)
{
    double weight = 1.0;
    unsigned used = 0;
    for (unsigned p = 0; p < t->seats; p++) {
        if (match->best[p] == WH_MATCH_NONE) {
            weight *= t->empty[p];
            continue;
        }
        const wh_match_edge *edge = &match->edges[match->best[p]];
        assert_int_equal(edge->seat, p);
        assert_false(used >> edge->sensor & 1);
        used |= 1u << edge->sensor;
        weight *= t->weight[p][edge->sensor];
    }
    return weight;
}

static void test_against_brute_force(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 12);
    for (int round = 0; round < 400; round++) {
        tally t = {.seats = 1 + (unsigned)wh_rng_below(&rng, round % 20 ? 5 : SEATS_MOST),
                   .sensors = (unsigned)wh_rng_below(&rng, SENSORS_MOST + 1)};
        const double nats = round % 2 ? 2.0 : 8.0; /* near to undecided, or well decided */
        for (unsigned p = 0; p < t.seats; p++) {
            t.empty[p] = exp(nats * (wh_rng_uniform(&rng) - 0.5));
            for (unsigned s = 0; s < t.sensors; s++)
                t.weight[p][s] = wh_rng_uniform(&rng) < 0.2 ? 0.0 : exp(nats * (wh_rng_uniform(&rng) - 0.5));
        }
        try_all(&t, 0, 0, 1.0);
        wh_match_edge edges[SEATS_MOST * SENSORS_MOST];
        wh_match match = match_of(&t, edges);
        assert_int_equal(wh_match_odds(&match), WH_OK);
        for (size_t i = 0; i < match.edge_count; i++)
            assert_near(edges[i].odds, t.pair[edges[i].seat][edges[i].sensor] / t.all, 1e-4);
        for (unsigned p = 0; p < t.seats; p++)
            assert_near(match.empty_odds[p], t.none[p] / t.all, 1e-4);
        assert_true(match.unseen < 1e-4);
        assert_true(fabs(weight_of_best(&t, &match) / t.heaviest - 1.0) < 1e-9);
    }
}

/* Two seats that nothing tells apart, two sensors: one half each. With a record that makes crossing q times as likely as
 * not (a factor sqrt(q) for each crossed pair), q / (1 + q). */
static void test_pair_that_cannot_be_told_apart(void **state)
{
    (void)state;
    const double q = 0.03;
    wh_match_edge edges[] = {{0, 0, 0.0, 0.0}, {0, 1, 0.0, 0.0}, {1, 0, 0.0, 0.0}, {1, 1, 0.0, 0.0}};
    wh_match match = {.seat_count = 2, .sensor_count = 2, .edges = edges, .edge_count = 4, .log_empty = {-30.0, -30.0}};
    assert_int_equal(wh_match_odds(&match), WH_OK);
    for (int i = 0; i < 4; i++)
        assert_near(edges[i].odds, 0.5, 1e-6);
    for (int i = 0; i < 4; i++)
        edges[i].log_weight = edges[i].seat == edges[i].sensor ? 0.0 : 0.5 * log(q);
    assert_int_equal(wh_match_odds(&match), WH_OK);
    for (int i = 0; i < 4; i++)
        assert_near(edges[i].odds, (edges[i].seat == edges[i].sensor ? 1.0 : q) / (1.0 + q), 1e-6);
}

/* 60 seats in 30 pairs, all pairs undecided: 2^30 matchings of equal weight, yet each pair is one half. */
static void test_many_undecided_pairs(void **state)
{
    (void)state;
    wh_match_edge edges[120];
    wh_match match = {.seat_count = 60, .sensor_count = 60, .edges = edges, .edge_count = 120};
    for (unsigned i = 0; i < 120; i++)
        edges[i] = (wh_match_edge){i / 4 * 2 + i % 2, i / 4 * 2 + i / 2 % 2, -1.0, 0.0};
    for (unsigned p = 0; p < 60; p++)
        match.log_empty[p] = -40.0;
    assert_int_equal(wh_match_odds(&match), WH_OK);
    for (unsigned i = 0; i < 120; i++)
        assert_near(edges[i].odds, 0.5, 1e-6);
    assert_true(match.unseen < 1e-6);
}

/* Sixteen seats and twenty sensors, most of them with one likely seat and a little weight everywhere else: too much to keep all
 * cases apart. The oracle goes over all 2^16 sets of seats taken, from the front and from the back. */
#define MANY_SEATS   16
#define MANY_SENSORS 20
#define SETS         (1u << MANY_SEATS)

typedef struct sets {
    double front[MANY_SENSORS + 1][SETS], back[MANY_SENSORS + 1][SETS];
} sets;

static void go_over_all_sets(sets *all, double weight[MANY_SENSORS][MANY_SEATS], const double *empty)
{
    all->front[0][0] = 1.0;
    for (unsigned s = 0; s < MANY_SENSORS; s++)
        for (unsigned set = 0; set < SETS; set++) {
            all->front[s + 1][set] += all->front[s][set];
            for (unsigned p = 0; p < MANY_SEATS; p++)
                if (!(set >> p & 1))
                    all->front[s + 1][set | 1u << p] += all->front[s][set] * weight[s][p];
        }
    for (unsigned set = 0; set < SETS; set++) {
        all->back[MANY_SENSORS][set] = 1.0;
        for (unsigned p = 0; p < MANY_SEATS; p++)
            if (!(set >> p & 1))
                all->back[MANY_SENSORS][set] *= empty[p];
    }
    for (unsigned s = MANY_SENSORS; s-- > 0;)
        for (unsigned set = 0; set < SETS; set++) {
            all->back[s][set] = all->back[s + 1][set];
            for (unsigned p = 0; p < MANY_SEATS; p++)
                if (!(set >> p & 1))
                    all->back[s][set] += weight[s][p] * all->back[s + 1][set | 1u << p];
        }
}

static double odds_of(const sets *all, double weight[MANY_SENSORS][MANY_SEATS], unsigned s, unsigned p)
{
    double sum = 0.0;
    for (unsigned set = 0; set < SETS; set++)
        if (!(set >> p & 1))
            sum += all->front[s][set] * weight[s][p] * all->back[s + 1][set | 1u << p];
    return sum / all->back[0][0];
}

static void test_many_seats_against_all_sets(void **state)
{
    (void)state;
    wh_rng rng;
    wh_rng_seed(&rng, 31);
    for (int round = 0; round < 3; round++) {
        double weight[MANY_SENSORS][MANY_SEATS], empty[MANY_SEATS];
        static wh_match_edge edges[MANY_SENSORS * MANY_SEATS];
        wh_match match = {.seat_count = MANY_SEATS, .sensor_count = MANY_SENSORS, .edges = edges};
        for (unsigned p = 0; p < MANY_SEATS; p++) {
            empty[p] = 0.3 * wh_rng_uniform(&rng) + 0.05;
            match.log_empty[p] = log(empty[p]);
        }
        for (unsigned s = 0; s < MANY_SENSORS; s++) {
            const unsigned home = (unsigned)wh_rng_below(&rng, MANY_SEATS);
            for (unsigned p = 0; p < MANY_SEATS; p++) {
                weight[s][p] = exp(p == home ? 4.0 * wh_rng_uniform(&rng) - 1.0 : 3.0 * wh_rng_uniform(&rng) - 6.0);
                edges[match.edge_count++] = (wh_match_edge){p, s, log(weight[s][p]), 0.0};
            }
        }
        sets *all = calloc(1, sizeof *all);
        assert_non_null(all);
        go_over_all_sets(all, weight, empty);
        assert_int_equal(wh_match_odds(&match), WH_OK);
        assert_true(match.unseen < 0.01);
        for (size_t i = 0; i < match.edge_count; i++)
            assert_near(edges[i].odds, odds_of(all, weight, edges[i].sensor, edges[i].seat), 0.05);
        free(all);
    }
}

/* n seats and n sensors with one weight w everywhere and empty seats of weight 1: the number of matchings with k pairs is
 * C(n,k)^2 k!, so the mean number of filled seats is known. Far too many to keep apart, none better than another: what is left
 * out must be owned up to, and the odds must not be too large by it. */
static void test_undecided_everywhere(void **state)
{
    (void)state;
    enum { N = 18 };
    wh_match_edge *edges = malloc(N * N * sizeof *edges);
    wh_match match = {.seat_count = N, .sensor_count = N, .edges = edges, .edge_count = N * N};
    for (unsigned i = 0; i < N * N; i++)
        edges[i] = (wh_match_edge){i / N, i % N, 0.0, 0.0};
    assert_int_equal(wh_match_odds(&match), WH_OK);
    double all = 0.0, filled = 0.0, ways = 1.0;
    for (int k = 0; k <= N; k++) {
        all += ways;
        filled += ways * k;
        ways *= (double)(N - k) * (N - k) / (k + 1);
    }
    const double share = filled / all / N / N;
    for (unsigned i = 0; i < N * N; i++)
        assert_true(edges[i].odds >= 0.0 && edges[i].odds <= 0.5);
    for (unsigned p = 0; p < N; p++) { /* all that was looked at, and not more */
        double of_seat = match.empty_odds[p];
        for (unsigned i = 0; i < N * N; i++)
            of_seat += edges[i].seat == p ? edges[i].odds : 0.0;
        assert_near(of_seat, 1.0 - match.unseen, 1e-6);
    }
    assert_true(share < 0.06); /* what it should be is small ... */
    assert_true(match.unseen > 0.2);
    free(edges);
}

static void test_nothing_to_match(void **state)
{
    (void)state;
    wh_match match = {.seat_count = 3};
    assert_int_equal(wh_match_odds(&match), WH_OK);
    for (int p = 0; p < 3; p++) {
        assert_near(match.empty_odds[p], 1.0, 1e-12);
        assert_true(match.best[p] == WH_MATCH_NONE);
    }
    match.seat_count = 0;
    assert_int_equal(wh_match_odds(&match), WH_OK);
}

static void test_bad_arguments(void **state)
{
    (void)state;
    wh_match_edge edge = {5, 0, 0.0, 0.0};
    wh_match match = {.seat_count = 3, .sensor_count = 1, .edges = &edge, .edge_count = 1};
    assert_int_equal(wh_match_odds(&match), WH_ERR_ARGUMENT);
    edge = (wh_match_edge){0, 1, 0.0, 0.0};
    assert_int_equal(wh_match_odds(&match), WH_ERR_ARGUMENT);
    edge = (wh_match_edge){0, 0, (double)NAN, 0.0};
    assert_int_equal(wh_match_odds(&match), WH_ERR_ARGUMENT);
    match.seat_count = WH_MATCH_SEATS_MAX + 1;
    assert_int_equal(wh_match_odds(&match), WH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_brute_force),  cmocka_unit_test(test_pair_that_cannot_be_told_apart),
        cmocka_unit_test(test_many_undecided_pairs), cmocka_unit_test(test_many_seats_against_all_sets),
        cmocka_unit_test(test_undecided_everywhere), cmocka_unit_test(test_nothing_to_match),
        cmocka_unit_test(test_bad_arguments),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
