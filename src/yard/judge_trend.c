/* Is a tire losing air? By the trend of its sensor's cold pressures, see trend.h. */
#include "judging.h"

#include <stdlib.h>
#include <string.h>

wh_trend_window wh_judging_trend_window(const wh_judge_input *input)
{
    const wh_sweep *sweep = input->sweep;
    const size_t event_count = sweep ? sweep->event_count : 0;
    const int64_t now_us = event_count > 0 && sweep->dated ? sweep->events[event_count - 1].at_us : INT64_MAX;
    wh_trend_window window = {input->repaired_us <= now_us ? input->repaired_us : 0, input->past_count};
    for (size_t i = 0; input->after_id > 0 && i < event_count; i++) {
        if (sweep->events[i].id == input->after_id && sweep->events[i].at_us > window.since_us)
            window.since_us = sweep->events[i].at_us;
    }
    while (window.past_count > 0 && input->past[window.past_count - 1].at_us > now_us)
        window.past_count--;
    return window;
}

/* The level that is reached next. */
static wh_gauge next_level(const wh_judging *judging, const wh_wheel_view *view, double cold_kpa)
{
    const wh_thresholds *thresholds = judging->input->thresholds;
    const double levels[] = {thresholds->low_share * view->wheel->target.kpa,
                             thresholds->far_too_low_share * view->wheel->target.kpa,
                             thresholds->flat_share * view->wheel->sidewall_max.kpa};
    for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
        if (levels[i] > 0 && levels[i] < cold_kpa)
            return (wh_gauge){levels[i]};
    }
    return (wh_gauge){0};
}

static void losing_air(wh_judging *judging, const wh_wheel_view *view, const wh_trend *trend)
{
    const wh_judge_input *input = judging->input;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_LOSING_AIR, WH_SEVERITY_CHECK);
    finding->odds = view->odds * 0.975; /* the interval's one side */
    char text[WH_TREND_TEXT_SIZE], days[WH_FIGURE_SIZE], rate[WH_FIGURE_SIZE];
    const double span_s = (double)(trend->visits[trend->visit_count - 1].at_us - trend->visits[0].at_us) / 1e6;
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s; %u visits in %s",
                  wh_trend_text(text, trend, next_level(judging, view, trend->cold_kpa), input->pressure_unit),
                  trend->visit_count, wh_duration_figure(days, span_s));
    if (trend->refills > 0)
        wh_phrase_add(&evidence, ", air added %u time%s", trend->refills, trend->refills == 1 ? "" : "s");
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "cold pressure surely (97.5 %%) falls by more than %s a day",
                  wh_rate_figure(rate, input->thresholds->loss_kpa_per_day, input->pressure_unit, true));
    wh_judging_source(judging, finding, offsetof(wh_thresholds, loss_kpa_per_day));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Gauge it; search valve, rim and tread for the leak before air is added%s.",
                  view->mate >= 0 ? ", and gauge its mate" : "");
    wh_judging_inflation(finding, &remedy);
}

void wh_judge_trend(wh_judging *judging)
{
    const wh_judge_input *input = judging->input;
    const wh_trend_window window = wh_judging_trend_window(input);
    wh_trend *trend = malloc(sizeof *trend);
    for (unsigned i = 0; trend && i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        if (!view->heard)
            continue;
        const wh_status status = wh_trend_of(input->past, window.past_count, view->heard->sensor, window.since_us,
                                             input->thresholds->reference_c, input->site, trend);
        judging->failed = judging->failed || status != WH_OK;
        if (status == WH_OK && trend->state == WH_TREND_KNOWN && trend->loss_low > input->thresholds->loss_kpa_per_day)
            losing_air(judging, view, trend);
    }
    judging->failed = judging->failed || !trend;
    free(trend);
}
