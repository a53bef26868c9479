/* How often the attribution is right, and whether its odds are: tables for RESULTS.md. Usage: report_attribution [WALKS] */
#include "yard_sim.h"

#include <stdio.h>
#include <stdlib.h>

static unsigned walks = 400;

static void head(const char *what)
{
    printf("\n| %s | heard | strongest is right | right | pair right | sure | sure, wrong | fault named | false fault "
           "| unheard left empty | "
           "calibration error |\n|---|---|---|---|---|---|---|---|---|---|---|\n",
           what);
}

static double percent(unsigned part, unsigned whole)
{
    return whole ? 100.0 * part / whole : 0.0;
}

static void row(const char *what, const sim_case *sim)
{
    sim_score score = {0};
    if (sim_run_many(sim, 1, walks, &score) != 0) {
        printf("| %s | failed |\n", what);
        return;
    }
    const unsigned all = score.seats + score.mute;
    printf("| %s | %.1f %% | %.1f %% | %.1f %% | %.1f %% | %.1f %% | %.2f %% | %.1f %% | %.2f %% | %.1f %% | %.3f |\n",
           what, percent(score.seats, all), percent(score.strongest_right, score.seats),
           percent(score.right, score.seats), percent(score.pair_right, score.seats), percent(score.sure, score.seats),
           percent(score.sure_wrong, all), percent(score.faults_found, score.faults), percent(score.false_faults, all),
           percent(score.mute_empty, score.mute), sim_calibration_error(&score));
    fflush(stdout);
}

static void by_spread(void)
{
    head("angle spread");
    for (int spread = 0; spread <= 20; spread += 4) {
        sim_case sim;
        char name[32];
        sim_case_usual(&sim);
        sim.air.angle_spread_db = spread;
        snprintf(name, sizeof name, "%d dB", spread);
        row(name, &sim);
    }
}

static void by_shadow(void)
{
    head("shadowing");
    for (int shadow = 0; shadow <= 8; shadow += 2) {
        sim_case sim;
        char name[32];
        sim_case_usual(&sim);
        sim.air.shadow_db = shadow;
        snprintf(name, sizeof name, "%d dB", shadow);
        row(name, &sim);
    }
}

static void by_neighbours(void)
{
    head("neighbours");
    for (unsigned neighbours = 0; neighbours <= 6; neighbours += 2) {
        for (int known = 1; known >= 0; known--) {
            sim_case sim;
            char name[48];
            sim_case_usual(&sim);
            sim.neighbours = neighbours;
            sim.neighbours_on_record = known;
            sim.passing = 2 * neighbours;
            snprintf(name, sizeof name, "%u units, %s", neighbours, known ? "on record" : "unknown");
            if (neighbours > 0 || known)
                row(name, &sim);
        }
    }
    sim_case sim;
    sim_case_usual(&sim);
    sim.neighbours_swept = true;
    row("2 units, walked round as well", &sim);
}

static void by_missing(void)
{
    head("seats without a sensor that sends");
    for (unsigned dead = 0; dead <= 4; dead += 2) {
        sim_case sim;
        char name[32];
        sim_case_usual(&sim);
        sim.dead_count = dead;
        snprintf(name, sizeof name, "%u more", dead);
        row(name, &sim);
    }
}

static void by_layout(void)
{
    head("layout");
    sim_case sim;
    sim_case_usual(&sim);
    row("2 dual axles (8 wheels)", &sim);
    sim.dual[0] = sim.dual[1] = false;
    row("2 single axles (4 wheels)", &sim);
    sim.axles = 3;
    row("3 single axles (6 wheels)", &sim);
    sim.kind = WH_TRACTOR;
    sim.dual[1] = sim.dual[2] = true;
    row("tractor, 2 driven dual axles (10 wheels)", &sim);
    sim.axles = 5;
    sim.dual[3] = sim.dual[4] = true;
    row("1 single and 4 dual axles (18 wheels)", &sim);
}

static void by_habit(void)
{
    head("what is done at the wheels");
    sim_case sim;
    sim_case_usual(&sim);
    row("woken nine times in ten, and logged", &sim);
    sim.habits.logs_wakes = 0.0;
    row("woken as often, not logged", &sim);
    sim.habits.wakes = 0.0;
    sim.sends_itself = 1.0;
    sim.habits.stand_s = 20.0;
    row("not woken, all send once a minute, 20 s a wheel", &sim);
    sim.sends_itself = 0.2;
    sim.habits.wakes = 0.9;
    sim.habits.logs_wakes = 1.0;
    sim.habits.wakes_mate = 1.0;
    row("the exciter always reaches both wheels of a pair", &sim);
}

static void by_fault(void)
{
    head("faults");
    sim_case sim;
    sim_case_usual(&sim);
    sim.new_sensor = sim.dead = sim.pair_crossed = sim.crossed = sim.exchanged = 0.0;
    row("none", &sim);
    sim.crossed = 1.0;
    row("one crossing", &sim);
    sim.crossed = 0.0;
    sim.pair_crossed = 1.0;
    row("all dual pairs crossed", &sim);
    sim.pair_crossed = 0.0;
    sim.exchanged = 0.3;
    row("three in ten exchanged with neighbours", &sim);
    sim.exchanged = 0.0;
    sim.new_sensor = 0.5;
    row("half of the sensors new", &sim);
    sim.new_sensor = 1.0;
    row("all sensors new", &sim);
}

static void bins(void)
{
    sim_score score = {0};
    printf("\n| odds | seats | mean odds | right |\n|---|---|---|---|\n");
    for (int spread = 0; spread <= 20; spread += 10)
        for (int logged = 0; logged <= 1; logged++)
            for (int known = 0; known <= 1; known++) {
                sim_case sim;
                sim_case_usual(&sim);
                sim.air.angle_spread_db = spread;
                sim.habits.logs_wakes = logged;
                sim.neighbours_on_record = known;
                if (sim_run_many(&sim, 5000, walks, &score) != 0)
                    return;
            }
    for (int b = 0; b < SIM_BINS; b++)
        if (score.bin[b])
            printf("| %.1f to %.1f | %u | %.3f | %.3f |\n", b / 10.0, (b + 1) / 10.0, score.bin[b],
                   score.bin_odds[b] / score.bin[b], (double)score.bin_right[b] / score.bin[b]);
    printf("\nExpected calibration error %.3f over %u seats.\n", sim_calibration_error(&score), score.named);
}

/* How long one call takes after a reading of a walk, as in a live sweep: the walk so far, after every so many readings. */
static void timing(const char *what, const sim_case *sim, unsigned count, unsigned every)
{
    double most = 0.0, sum = 0.0;
    unsigned calls = 0;
    size_t sensors = 0;
    for (unsigned i = 0; i < count; i++) {
        sim_timing timing = {.every = every};
        if (sim_time(sim, 77 + i, &timing) != 0)
            return;
        most = timing.most_ms > most ? timing.most_ms : most;
        sum += timing.sum_ms;
        calls += timing.calls;
        sensors = timing.sensors > sensors ? timing.sensors : sensors;
    }
    printf("| %s | %zu | %u | %.2f | %.2f |\n", what, sensors, calls, calls ? sum / calls : 0.0, most);
}

static void timings(void)
{
    printf("\n| one call | sensors heard | calls | mean ms | longest ms |\n|---|---|---|---|---|\n");
    sim_case sim;
    sim_case_usual(&sim);
    sim.neighbours = 2;
    timing("8 wheels", &sim, 4, 1);
    sim.axles = 5;
    sim.dual[0] = false;
    sim.dual[2] = sim.dual[3] = sim.dual[4] = true;
    sim.neighbours = 1;
    sim.sends_itself = 0.8;
    timing("18 wheels", &sim, 4, 4);
    sim.axles = 15;
    sim.dual[0] = true;
    for (int i = 5; i < 15; i++)
        sim.dual[i] = true;
    timing("60 wheels", &sim, 1, 40);
    sim_case_usual(&sim);
    sim.passing = 1000;
    timing("8 wheels, a thousand strangers", &sim, 1, 40);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        walks = (unsigned)strtoul(argv[1], NULL, 10);
    printf("%u simulated walks a row.\n", walks);
    by_spread();
    by_shadow();
    by_neighbours();
    by_missing();
    by_layout();
    by_habit();
    by_fault();
    bins();
    timings();
    return 0;
}
