#include "clock.h"

#include <math.h>
#include <string.h>

/* Rates first told apart over this many chips, then refined over all: keeps long bursts linear in their length. */
#define FIRST_CHIPS 300

/* Sum of |metric| over the chips for each of the eight phases at one chip length; returns the best phase's mean. */
static double best_phase(const float *metric, size_t count, double chip, size_t *phase, double *overall)
{
    float sums[WH_CLOCK_STEPS] = {0};
    size_t chips = 0;
    for (double at = 0.0; at + 2 * WH_CLOCK_STEPS <= (double)count; at += chip) {
        const float *restrict here = metric + (size_t)(at + 0.5);
        for (size_t p = 0; p < WH_CLOCK_STEPS; p++)
            sums[p] += fabsf(here[p]);
        chips++;
    }
    double best = -1.0, total = 0.0;
    for (size_t p = 0; p < WH_CLOCK_STEPS; p++) {
        total += (double)sums[p];
        if ((double)sums[p] > best) {
            best = (double)sums[p];
            *phase = p;
        }
    }
    *overall = chips ? total / (double)(WH_CLOCK_STEPS * chips) : 0.0;
    return chips ? best / (double)chips : 0.0;
}

static double opening(const float *metric, size_t count, double phase, double chip)
{
    double sum = 0.0;
    size_t chips = 0;
    for (double at = phase; at + 1.0 < (double)count; at += chip) {
        const size_t i = (size_t)at;
        const float part = (float)(at - (double)i);
        sum += (double)fabsf(metric[i] + part * (metric[i + 1] - metric[i]));
        chips++;
    }
    return chips ? sum / (double)chips : 0.0;
}

static double scan_rates(const float *metric, size_t count, double low, double high, double step, wh_clock *best)
{
    double top = -1.0;
    for (double relative = low; relative <= high + 0.5 * step; relative += step) {
        size_t phase = 0;
        double overall = 0.0;
        const double chip = WH_CLOCK_STEPS / relative;
        const double value = best_phase(metric, count, chip, &phase, &overall);
        if (value > top) {
            top = value;
            *best = (wh_clock){(double)phase, chip, overall > 0.0 ? value / overall : 1.0};
        }
    }
    return top;
}

/* Coordinate search below the grid, halving the step: rate about the burst's middle, then phase. */
static void refine(const float *metric, size_t count, wh_clock *clock)
{
    const double chips = fmax(2.0, (double)count / clock->chip);
    double phase_step = 0.5, slope_step = 0.5 / chips, best = opening(metric, count, clock->phase, clock->chip);
    for (int round = 0; round < 5; round++) {
        for (int move = 0; move < 4; move++) {
            wh_clock trial = *clock;
            if (move < 2) {
                trial.phase += move ? phase_step : -phase_step;
            } else { /* a change of length turns about the middle chip */
                const double change = move == 2 ? slope_step : -slope_step;
                trial.chip += change;
                trial.phase -= change * 0.5 * chips;
            }
            if (trial.phase < 0.0)
                trial.phase += trial.chip;
            const double value = opening(metric, count, trial.phase, trial.chip);
            if (value > best) {
                best = value;
                *clock = trial;
            }
        }
        phase_step *= 0.5;
        slope_step *= 0.5;
    }
}

wh_clock wh_clock_find(const float *metric, size_t count, double tolerance)
{
    wh_clock best = {0.0, WH_CLOCK_STEPS, 1.0};
    if (count < 4 * WH_CLOCK_STEPS)
        return best;
    const size_t first = count < FIRST_CHIPS * WH_CLOCK_STEPS ? count : FIRST_CHIPS * WH_CLOCK_STEPS;
    const double first_chips = (double)first / WH_CLOCK_STEPS, chips = (double)count / WH_CLOCK_STEPS;
    /* Two rates 1/(4 n) apart drift by a quarter chip over n chips: fine enough not to miss the peak. */
    const double coarse = 1.0 / (4.0 * first_chips);
    scan_rates(metric, first, 1.0 - tolerance, 1.0 + tolerance, coarse, &best);
    if (count > first) {
        const double middle = WH_CLOCK_STEPS / best.chip;
        scan_rates(metric, count, middle - 3.0 * coarse, middle + 3.0 * coarse, 1.0 / (4.0 * chips), &best);
    }
    refine(metric, count, &best);
    return best;
}
