#include "trend.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cold_pressure.h"
#include "figures.h"
#include "text_buffer.h"

#define US_PER_DAY 86400e6

/* Readings of one visit say the same thing several times: half an hour is longer than a walk round a unit takes. */
#define VISIT_US INT64_C(1800000000)
/* Air was added, or let out at once, when corrected pressures jump by more. Tire sensors repeat within one or two of their steps
 * of about 3 kPa (SP12T product brief: 2.97 kPa and 1 C a step; one degree is 2.7 kPa at 690 kPa): five times 4 kPa. */
#define JUMP_KPA 20.0
/* After a month without a visit anything may have been done to the tire. */
#define ABSENCE_US (INT64_C(30) * 86400000000)
/* Pressures before that do not tell what the tire does now. */
#define LOOK_BACK_US (INT64_C(60) * 86400000000)
/* Within a day the tire's air and its sensor warm and cool at different paces: several kPa that no loss explains. */
#define SPAN_DAYS 1.0
/* Readings that are more likely wrong have no place in a trend. */
#define CONFIDENCE 0.9

#define VISIT_READINGS_MAX 64

/* The visit that is being put together. */
typedef struct gathering {
    double kpa[VISIT_READINGS_MAX];
    unsigned count;
    int64_t first_us, last_us;
} gathering;

static double gathered_level(const gathering *now)
{
    double sorted[VISIT_READINGS_MAX];
    memcpy(sorted, now->kpa, now->count * sizeof *sorted);
    return wh_median(sorted, now->count);
}

/* Put an end to the visit; the oldest goes when there are too many. */
static void close_visit(wh_trend *trend, gathering *now)
{
    if (now->count == 0)
        return;
    if (trend->visit_count == WH_SLOPE_POINTS_MAX) {
        trend->visit_count--;
        memmove(trend->visits, trend->visits + 1, trend->visit_count * sizeof *trend->visits);
    }
    trend->visits[trend->visit_count++] =
        (wh_visit){now->first_us + (now->last_us - now->first_us) / 2, gathered_level(now), 0};
    now->count = 0;
}

static void add_reading(wh_trend *trend, gathering *now, int64_t at_us, double kpa)
{
    if (now->count > 0 && (at_us - now->first_us > VISIT_US || fabs(kpa - gathered_level(now)) > JUMP_KPA))
        close_visit(trend, now);
    if (now->count == 0)
        now->first_us = at_us;
    now->last_us = at_us;
    if (now->count < VISIT_READINGS_MAX)
        now->kpa[now->count++] = kpa;
}

/* Did the pressure jump before visit k? A single wrong visit that is gone with the next one is no jump; nor is a fall
 * between two visits, which is what a leak looks like. */
static bool jumped(const wh_trend *trend, unsigned k)
{
    const wh_visit *visits = trend->visits;
    const double rise = visits[k].cold_kpa - visits[k - 1].cold_kpa;
    if (visits[k].at_us - visits[k - 1].at_us <= VISIT_US)
        return fabs(rise) > JUMP_KPA;
    const bool stays = k + 1 == trend->visit_count || visits[k + 1].cold_kpa - visits[k - 1].cold_kpa > rise / 2;
    return rise > JUMP_KPA && stays;
}

static void number_stretches(wh_trend *trend)
{
    unsigned stretch = 0;
    for (unsigned k = 1; k < trend->visit_count; k++) {
        wh_visit *visit = &trend->visits[k];
        if (jumped(trend, k)) {
            stretch++;
            trend->refills += visit->cold_kpa > visit[-1].cold_kpa;
        } else if (visit->at_us - visit[-1].at_us > ABSENCE_US) {
            stretch++;
        }
        visit->stretch = stretch;
    }
}

static void measure_stretches(wh_trend *trend)
{
    for (unsigned first = 0, next; first < trend->visit_count; first = next) {
        const wh_visit *visits = trend->visits;
        for (next = first + 1; next < trend->visit_count && visits[next].stretch == visits[first].stretch; next++)
            continue;
        trend->span_days += (double)(visits[next - 1].at_us - visits[first].at_us) / US_PER_DAY;
    }
}

/* The pressure that the slope through the last stretch gives for its last visit. */
static double level_at_the_end(const wh_trend *trend, double slope)
{
    double levels[WH_SLOPE_POINTS_MAX];
    size_t count = 0;
    const wh_visit *last = &trend->visits[trend->visit_count - 1];
    for (const wh_visit *visit = last; visit >= trend->visits && visit->stretch == last->stretch; visit--)
        levels[count++] = visit->cold_kpa + slope * (double)(last->at_us - visit->at_us) / US_PER_DAY;
    return wh_median(levels, count);
}

static wh_status fit(wh_trend *trend)
{
    wh_slope_point *points = malloc(WH_SLOPE_POINTS_MAX * sizeof *points);
    if (!points)
        return WH_ERR_MEMORY;
    for (unsigned k = 0; k < trend->visit_count; k++) {
        const wh_visit *visit = &trend->visits[k];
        points[k] = (wh_slope_point){(double)(visit->at_us - trend->visits[0].at_us) / US_PER_DAY, visit->cold_kpa,
                                     visit->stretch};
    }
    wh_robust_slope line;
    const wh_status status = wh_robust_slope_of(points, trend->visit_count, &line);
    free(points);
    if (status == WH_OK && line.bounded && trend->span_days >= SPAN_DAYS) {
        trend->state = WH_TREND_KNOWN;
        trend->loss = -line.slope;
        trend->loss_low = -line.high;
        trend->loss_high = -line.low;
        trend->cold_kpa = level_at_the_end(trend, line.slope);
    }
    return status;
}

wh_status wh_trend_of(const wh_past *past, size_t count, const char *sensor, int64_t since_us, double reference_c,
                      wh_absolute site, wh_trend *trend)
{
    memset(trend, 0, sizeof *trend);
    int64_t latest_us = INT64_MIN;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(past[i].heard.sensor, sensor) == 0 && past[i].at_us > latest_us)
            latest_us = past[i].at_us;
    }
    gathering now = {.count = 0};
    for (size_t i = 0; i < count; i++) {
        const wh_heard *heard = &past[i].heard;
        const bool counts = strcmp(heard->sensor, sensor) == 0 && past[i].at_us >= since_us &&
                            past[i].at_us >= latest_us - LOOK_BACK_US && heard->confidence >= CONFIDENCE;
        if (!counts)
            continue;
        const wh_tire_air air = wh_tire_air_of(heard, reference_c, site);
        if (air.basis == WH_COLD_CORRECTED)
            add_reading(trend, &now, past[i].at_us, air.cold.kpa);
        else if (air.basis == WH_COLD_AS_READ && trend->state == WH_TREND_NO_PRESSURE)
            trend->state = WH_TREND_NO_TEMPERATURE;
    }
    close_visit(trend, &now);
    if (trend->visit_count == 0)
        return WH_OK;
    trend->state = WH_TREND_NOT_ENOUGH;
    number_stretches(trend);
    measure_stretches(trend);
    return fit(trend);
}

/* When the trend comes down to `level`. */
static void add_days(wh_phrase *phrase, const wh_trend *trend, wh_gauge level, wh_pressure_unit unit)
{
    char figure[WH_FIGURE_SIZE];
    const double days = (trend->cold_kpa - level.kpa) / trend->loss;
    wh_gauge_figure(figure, level, unit);
    if (days <= 0)
        wh_phrase_add(phrase, ", has come down to %s", figure);
    else if (days < 1)
        wh_phrase_add(phrase, ", reaches %s within a day", figure);
    else if (days < 365)
        wh_phrase_add(phrase, ", reaches %s in %d day%s", figure, (int)days, days < 2 ? "" : "s");
    else
        wh_phrase_add(phrase, ", does not reach %s within a year", figure);
}

static void add_rate(wh_phrase *phrase, const wh_trend *trend, wh_pressure_unit unit)
{
    char rate[WH_FIGURE_SIZE], low[WH_FIGURE_SIZE], high[WH_FIGURE_SIZE];
    const bool gains = trend->loss_high < 0;
    const double sign = gains ? -1.0 : 1.0;
    wh_rate_figure(rate, sign * trend->loss, unit, true);
    wh_rate_figure(low, sign * (gains ? trend->loss_high : trend->loss_low), unit, false);
    wh_rate_figure(high, sign * (gains ? trend->loss_low : trend->loss_high), unit, false);
    const char *verb = gains ? "gaining" : trend->loss_low > 0 ? "losing" : "no sure change: losing";
    wh_phrase_add(phrase, "%s %s a day (%s to %s)", verb, rate, low, high);
}

const char *wh_trend_text(char text[WH_TREND_TEXT_SIZE], const wh_trend *trend, wh_gauge level, wh_pressure_unit unit)
{
    wh_phrase phrase = wh_phrase_in(text, WH_TREND_TEXT_SIZE);
    char days[WH_FIXED_SIZE];
    switch (trend->state) {
    case WH_TREND_NO_PRESSURE: wh_phrase_add(&phrase, "no trend: no pressure was read"); break;
    case WH_TREND_NO_TEMPERATURE:
        wh_phrase_add(&phrase, "no trend: no temperature was read, and cooling looks like losing air");
        break;
    case WH_TREND_NOT_ENOUGH:
        wh_phrase_add(&phrase, "not enough time yet: %u visit%s over %s days;", trend->visit_count,
                      trend->visit_count == 1 ? "" : "s", wh_fixed(days, trend->span_days, 1));
        wh_phrase_add(&phrase, " it takes four without adding air, half an hour apart and over a day at least");
        break;
    case WH_TREND_KNOWN:
        add_rate(&phrase, trend, unit);
        if (level.kpa > 0 && trend->loss_low > 0)
            add_days(&phrase, trend, level, unit);
        break;
    }
    return text;
}
