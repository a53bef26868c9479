#include "clock.h"

#include "quad.h"
#include "wide.h"

#include <math.h>
#include <string.h>

/* Rates first told apart over this many chips, then over more and more: keeps long bursts linear in their length. */
#define FIRST_CHIPS 300
#define WIDEN       4 /* each span is so many times the one before */

/* The first scan tries a hundred rates or more. It adds up windows of eight nominal chips in which rates whose chips drift by less
 * than a metric sample are alike: three times as fast as adding up every chip for every rate. Rounding costs weak bursts one frame
 * in a hundred, so they are spared it. */
#define WINDOW_CHIPS 8
#define WINDOW       (WINDOW_CHIPS * WH_CLOCK_STEPS)
#define WINDOWS_MOST (FIRST_CHIPS / WINDOW_CHIPS + 1)
#define DRIFTS_MOST  7 /* metric samples over a window to either side: a tolerance of 11 % */
#define WINDOW_PHASES                                                                                                  \
    (3 * WH_CLOCK_STEPS) /* the first chip may lie a stretched chip late, and its phase eight samples later */

#define PIECE 64 /* chips looked at at a time */

typedef struct windows {
    size_t count;
    int drifts;                                                  /* to either side */
    float sum[WINDOWS_MOST][2 * DRIFTS_MOST + 1][WINDOW_PHASES]; /* of |metric| over the chips, by first chip's place */
} windows;

/* a / WINDOW_CHIPS to the nearest whole number. */
static int rounded(int a)
{
    return (a + WINDOW_CHIPS * DRIFTS_MOST + WINDOW_CHIPS / 2) / WINDOW_CHIPS - DRIFTS_MOST;
}

WH_WIDE static void add_windows(const float *metric, size_t count, double tolerance, windows *w)
{
    w->drifts = (int)fmin(DRIFTS_MOST, ceil(tolerance * (double)WINDOW));
    for (w->count = 0; w->count < WINDOWS_MOST && (w->count + 1) * WINDOW + 4 * WH_CLOCK_STEPS <= count; w->count++) {
        for (int d = -w->drifts; d <= w->drifts; d++) {
            float *sum = w->sum[w->count][d + w->drifts];
            memset(sum, 0, WINDOW_PHASES * sizeof *sum);
            for (int chip = 0; chip < WINDOW_CHIPS; chip++) {
                const float *restrict here = metric + w->count * WINDOW + chip * WH_CLOCK_STEPS + rounded(d * chip);
                for (size_t p = 0; p < WINDOW_PHASES; p++)
                    sum[p] += fabsf(here[p]);
            }
        }
    }
}

static double phase_of(const float sums[WH_CLOCK_STEPS], double chips, size_t *phase, double *overall)
{
    double best = -1.0, total = 0.0;
    for (size_t p = 0; p < WH_CLOCK_STEPS; p++) {
        total += (double)sums[p];
        if ((double)sums[p] > best) {
            best = (double)sums[p];
            *phase = p;
        }
    }
    *overall = chips > 0.0 ? total / (WH_CLOCK_STEPS * chips) : 0.0;
    return chips > 0.0 ? best / chips : 0.0;
}

/* As best_phase, from the windows' sums. */
static double best_window_phase(const windows *w, double chip, size_t *phase, double *overall)
{
    wh_quad early = {0.0f}, late = {0.0f};
    const int drift = (int)lround((chip - WH_CLOCK_STEPS) * WINDOW_CHIPS);
    const int row = (drift > w->drifts ? w->drifts : drift < -w->drifts ? -w->drifts : drift) + w->drifts;
    /* First chip's place in the window, of the clock that starts at 0; whole numbers of 2^-16 metric samples. */
    const int length = (int)(chip * 65536.0), slip = (int)(WINDOW_CHIPS * (chip - WH_CLOCK_STEPS) * 65536.0);
    int first = 0;
    for (size_t i = 0; i < w->count; i++) {
        const float *here = w->sum[i][row] + ((first + 32768) >> 16);
        early += wh_quad_load(here);
        late += wh_quad_load(here + 4);
        first += slip;
        first += first < 0 ? length : first >= length ? -length : 0;
    }
    float sums[WH_CLOCK_STEPS];
    memcpy(sums, &early, sizeof early);
    memcpy(sums + 4, &late, sizeof late);
    return phase_of(sums, (double)(w->count * WINDOW_CHIPS), phase, overall);
}

/* Sum of |metric| over the chips for each of the eight phases at one chip length; returns the best phase's mean. Places are counted in
 * 2^-32 metric samples. */
static double best_phase(const float *metric, size_t count, double chip, size_t *phase, double *overall)
{
    wh_quad early = {0.0f}, late = {0.0f}; /* sums of the first four phases and of the others */
    size_t chips = 0;
    const uint64_t step = (uint64_t)(chip * 4294967296.0), half = (uint64_t)1 << 31;
    const uint64_t last = (uint64_t)(count - 2 * WH_CLOCK_STEPS) << 32;
    for (uint64_t at = 0; at <= last; at += step) {
        const float *here = metric + ((at + half) >> 32);
        early += wh_quad_magnitude(wh_quad_load(here));
        late += wh_quad_magnitude(wh_quad_load(here + 4));
        chips++;
    }
    float sums[WH_CLOCK_STEPS];
    memcpy(sums, &early, sizeof early);
    memcpy(sums + 4, &late, sizeof late);
    return phase_of(sums, (double)chips, phase, overall);
}

/* |metric| at PIECE places or less, on straight lines between samples; 0 for the rest of the piece. */
WH_WIDE static void sizes_at(const float *restrict metric, double from, double step, int count, float *restrict size)
{
    int whole[PIECE];
    float part[PIECE];
    for (int k = 0; k < count; k++) {
        const double at = from + step * (double)k;
        whole[k] = (int)at;
        part[k] = (float)(at - (double)whole[k]);
    }
    for (int k = 0; k < count; k++) {
        const float here = metric[whole[k]], next = metric[whole[k] + 1];
        size[k] = fabsf(here + part[k] * (next - here));
    }
    for (int k = count; k < PIECE; k++)
        size[k] = 0.0f;
}

/* Mean |metric| at the chips. */
static double opening(const float *metric, size_t count, double phase, double chip)
{
    const double room = (double)count - 1.0 - phase;
    const size_t chips = room > 0.0 ? (size_t)ceil(room / chip) : 0;
    double sum = 0.0;
    for (size_t done = 0; done < chips; done += PIECE) {
        float size[PIECE];
        wh_quad lanes = {0.0f, 0.0f, 0.0f, 0.0f};
        sizes_at(metric, phase + chip * (double)done, chip, chips - done < PIECE ? (int)(chips - done) : PIECE, size);
        for (size_t k = 0; k < PIECE; k += 4)
            lanes += wh_quad_load(size + k);
        sum += (double)((lanes[0] + lanes[1]) + (lanes[2] + lanes[3]));
    }
    return chips ? sum / (double)chips : 0.0;
}

/* The rates from low to high; by windows when those are given. */
static void scan_rates(const float *metric, size_t count, const windows *w, double low, double high, double step,
                       wh_clock *best)
{
    double top = -1.0;
    for (double relative = low; relative <= high + 0.5 * step; relative += step) {
        size_t phase = 0;
        double overall = 0.0;
        const double chip = WH_CLOCK_STEPS / relative;
        const double value =
            w ? best_window_phase(w, chip, &phase, &overall) : best_phase(metric, count, chip, &phase, &overall);
        if (value > top) {
            top = value;
            *best = (wh_clock){(double)phase, chip, overall > 0.0 ? value / overall : 1.0};
        }
    }
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
                move |= 1; /* the way back need not be tried */
            }
        }
        phase_step *= 0.5;
        slope_step *= 0.5;
    }
}

wh_clock wh_clock_find(const float *metric, size_t count, double tolerance, double least_contrast)
{
    wh_clock best = {0.0, WH_CLOCK_STEPS, 1.0};
    if (count < 4 * WH_CLOCK_STEPS)
        return best;
    size_t span = count < FIRST_CHIPS * WH_CLOCK_STEPS ? count : FIRST_CHIPS * WH_CLOCK_STEPS;
    /* Two rates 1/(4 n) apart drift by a quarter chip over n chips: fine enough not to miss the peak. */
    double step = 0.25 * WH_CLOCK_STEPS / (double)span;
    windows w;
    w.count = 0;
    if (least_contrast > 0.0)
        add_windows(metric, span, tolerance, &w);
    scan_rates(metric, span, w.count > 4 ? &w : NULL, 1.0 - tolerance, 1.0 + tolerance, step, &best);
    while (span < count) {
        const double middle = WH_CLOCK_STEPS / best.chip, before = step;
        span = count / WIDEN < span ? count : WIDEN * span;
        step = 0.25 * WH_CLOCK_STEPS / (double)span;
        scan_rates(metric, span, NULL, middle - 3.0 * before, middle + 3.0 * before, step, &best);
    }
    if (best.contrast >= least_contrast)
        refine(metric, count, &best);
    return best;
}
