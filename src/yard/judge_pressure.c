/* Pressure against what is on record for the wheel.
 *
 * Two of the rules guard people and know no temperature: flat (half the sidewall maximum, as a gauge at the roadside shows it)
 * and far too low (80 % of the set pressure). They are applied to the lower of the pressure as read and the cold pressure, so
 * that neither a warm tire nor a warm reference hides one. Low and high are applied to the cold pressure. */
#include "judging.h"

#include <math.h>
#include <string.h>

/* Pressures at a threshold count as reached: 80.0 % may come out of binary arithmetic as 80.00000001 %. */
#define EPSILON_KPA 1e-6
/* Air this much warmer than outside is warm from driving or the sun (common practice, no source). */
#define WARM_C 10.0

/* Probability that the true pressure is at or below `limit` when `read` was read. */
static double below_odds(double read_kpa, double limit_kpa)
{
    return 0.5 * erfc((read_kpa - limit_kpa) / (WH_READING_DEVIATION_KPA * sqrt(2.0)));
}

static void add_reading(const wh_judging *judging, const wh_wheel_view *view, wh_phrase *evidence)
{
    const wh_judge_input *input = judging->input;
    char figure[WH_FIGURE_SIZE], celsius[WH_FIGURE_SIZE], reference[WH_FIGURE_SIZE];
    wh_phrase_add(evidence, "%s", wh_gauge_figure(figure, view->air.pressure, input->pressure_unit));
    if (view->air.basis == WH_COLD_AS_READ) {
        wh_phrase_add(evidence, ", no temperature: taken as read");
        return;
    }
    wh_phrase_add(evidence, " at %s", wh_temperature_figure(celsius, view->air.temperature_c, input->temperature_unit));
    if (input->has_ambient && view->air.temperature_c > input->ambient_c + WARM_C)
        wh_phrase_add(evidence, " (warm)");
    wh_phrase_add(evidence, ", %s at %s", wh_gauge_figure(figure, view->air.cold, input->pressure_unit),
                  wh_temperature_figure(reference, input->thresholds->reference_c, input->temperature_unit));
}

static void add_target(const wh_judging *judging, const wh_wheel_view *view, double judged_kpa, wh_phrase *evidence)
{
    char figure[WH_FIGURE_SIZE], share[WH_FIGURE_SIZE];
    const wh_gauge target = view->wheel->target;
    if (target.kpa > 0)
        wh_phrase_add(evidence, "; target %s: %s", wh_gauge_figure(figure, target, judging->input->pressure_unit),
                      wh_share_figure(share, judged_kpa / target.kpa));
}

static void add_doubt(const wh_judging *judging, const wh_wheel_view *view, wh_phrase *evidence)
{
    if (!wh_seat_filled(view->seat, judging->input->thresholds->sure_odds))
        wh_phrase_add(evidence, "; not sure that it is this wheel");
}

static void add_mate(const wh_judging *judging, const wh_wheel_view *view, wh_phrase *evidence)
{
    char figure[WH_FIGURE_SIZE], place[WH_POSITION_SIZE];
    if (view->mate < 0)
        return;
    const wh_wheel_view *mate = &judging->wheels[view->mate];
    wh_position_text(place, mate->wheel->position);
    if (mate->air.basis == WH_COLD_NONE)
        wh_phrase_add(evidence, "; its mate %s was not read", place);
    else
        wh_phrase_add(evidence, "; its mate %s reads %s", place,
                      wh_gauge_figure(figure, mate->air.pressure, judging->input->pressure_unit));
}

static wh_finding *add_finding(wh_judging *judging, wh_wheel_view *view, wh_finding_kind kind, wh_severity severity,
                               double judged_kpa, double odds)
{
    wh_finding *finding = wh_judging_add(judging, view, kind, severity);
    finding->odds = view->odds * odds;
    view->pressure_found = true;
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    add_reading(judging, view, &evidence);
    if (kind != WH_FINDING_FLAT)
        add_target(judging, view, judged_kpa, &evidence);
    add_doubt(judging, view, &evidence);
    add_mate(judging, view, &evidence);
    return finding;
}

/* "at or below 80 % of the target: 552 kPa gauge" */
static void add_rule(const wh_judging *judging, wh_finding *finding, const char *side, double share, const char *base,
                     double limit_kpa)
{
    char percent[WH_FIGURE_SIZE], limit[WH_FIGURE_SIZE];
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "%s %s of the %s: %s", side, wh_share_figure(percent, share), base,
                  wh_gauge_figure(limit, (wh_gauge){limit_kpa}, judging->input->pressure_unit));
}

static void add_mate_too(const wh_judging *judging, const wh_wheel_view *view, wh_phrase *remedy)
{
    char place[WH_POSITION_SIZE];
    if (view->mate >= 0)
        wh_phrase_add(remedy, " Its mate %s carried its load: gauge and inspect it too.",
                      wh_position_text(place, judging->wheels[view->mate].wheel->position));
}

static bool flat(wh_judging *judging, wh_wheel_view *view, double lower_kpa)
{
    const double limit = judging->input->thresholds->flat_share * view->wheel->sidewall_max.kpa;
    if (limit <= 0 || lower_kpa > limit + EPSILON_KPA)
        return false;
    wh_finding *finding =
        add_finding(judging, view, WH_FINDING_FLAT, WH_SEVERITY_FAULT, lower_kpa, below_odds(lower_kpa, limit));
    add_rule(judging, finding, "at or below", judging->input->thresholds->flat_share, "sidewall maximum", limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, flat_share));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy,
                  "Counts as flat: take the unit out of service. No air on the vehicle; deflate, remove, inspect.");
    add_mate_too(judging, view, &remedy);
    wh_judging_inflation(finding, &remedy);
    return true;
}

static bool far_too_low(wh_judging *judging, wh_wheel_view *view, double lower_kpa)
{
    const double limit = judging->input->thresholds->far_too_low_share * view->wheel->target.kpa;
    if (limit <= 0 || lower_kpa > limit + EPSILON_KPA)
        return false;
    wh_finding *finding =
        add_finding(judging, view, WH_FINDING_FAR_TOO_LOW, WH_SEVERITY_FAULT, lower_kpa, below_odds(lower_kpa, limit));
    add_rule(judging, finding, "at or below", judging->input->thresholds->far_too_low_share, "target", limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, far_too_low_share));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Add no air on the vehicle: deflate completely, remove the wheel, inspect tire and rim.");
    add_mate_too(judging, view, &remedy);
    wh_judging_inflation(finding, &remedy);
    return true;
}

static bool low(wh_judging *judging, wh_wheel_view *view)
{
    const wh_gauge target = view->wheel->target;
    const double limit = judging->input->thresholds->low_share * target.kpa, cold = view->air.cold.kpa;
    if (limit <= 0 || cold > limit + EPSILON_KPA)
        return false;
    wh_finding *finding = add_finding(judging, view, WH_FINDING_LOW, WH_SEVERITY_CHECK, cold, below_odds(cold, limit));
    add_rule(judging, finding, "at or below", judging->input->thresholds->low_share, "target, cold", limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, low_share));
    char stop[WH_FIGURE_SIZE], set[WH_FIGURE_SIZE], share[WH_FIGURE_SIZE];
    const double stop_share = judging->input->thresholds->far_too_low_share;
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(
        &remedy,
        "Gauge it%s. Above %s (%s): find the cause, set to %s cold, by remote control. Else no air on the vehicle.",
        view->mate >= 0 ? " and its mate" : "",
        wh_gauge_figure(stop, (wh_gauge){stop_share * target.kpa}, judging->input->pressure_unit),
        wh_share_figure(share, stop_share), wh_gauge_figure(set, target, judging->input->pressure_unit));
    wh_judging_inflation(finding, &remedy);
    return true;
}

/* Without a target the sidewall maximum is the least that is known. */
static void high(wh_judging *judging, wh_wheel_view *view)
{
    const bool has_target = view->wheel->target.kpa > 0;
    const double base = has_target ? view->wheel->target.kpa : view->wheel->sidewall_max.kpa;
    const double limit = judging->input->thresholds->high_share * base, cold = view->air.cold.kpa;
    if (limit <= 0 || cold <= limit + EPSILON_KPA)
        return;
    wh_finding *finding =
        add_finding(judging, view, WH_FINDING_HIGH, WH_SEVERITY_CHECK, cold, 1.0 - below_odds(cold, limit));
    add_rule(judging, finding, "above", judging->input->thresholds->high_share,
             has_target ? "target, cold" : "sidewall maximum", limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, high_share));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Gauge it when the tire is cold, and correct it only then: let no air out of a warm tire.");
    wh_judging_inflation(finding, &remedy);
}

void wh_judge_pressure(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        wh_wheel_view *view = &judging->wheels[i];
        if (view->air.basis == WH_COLD_NONE)
            continue;
        const double lower = fmin(view->air.pressure.kpa, view->air.cold.kpa);
        if (!flat(judging, view, lower) && !far_too_low(judging, view, lower) && !low(judging, view))
            high(judging, view);
    }
}
