/* Wheels that should have the same pressure: dual mates, and the sides of an axle. Only wheels without a pressure finding of
 * their own are compared: where one tire is low, that is the finding, and it names the mate. */
#include "judging.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Probability that two pressures differ by more than `limit` when they were read `apart`: the tails of a normal distribution
 * whose standard deviation is sqrt 2 times that of one reading, or 2 times in the argument of erfc. */
static double apart_odds(double apart_kpa, double limit_kpa)
{
    return 0.5 * (erfc((limit_kpa - apart_kpa) / (2.0 * WH_READING_DEVIATION_KPA)) +
                  erfc((limit_kpa + apart_kpa) / (2.0 * WH_READING_DEVIATION_KPA)));
}

/* Cold pressures can be compared when both were corrected, or neither. */
static bool comparable(const wh_wheel_view *a, const wh_wheel_view *b)
{
    return a->air.basis != WH_COLD_NONE && a->air.basis == b->air.basis && !a->pressure_found && !b->pressure_found;
}

static wh_finding *add_pair(wh_judging *judging, const wh_wheel_view *a, const wh_wheel_view *b, wh_finding_kind kind,
                            wh_severity severity, double limit)
{
    const wh_judge_input *input = judging->input;
    const double apart = fabs(a->air.cold.kpa - b->air.cold.kpa);
    wh_finding *finding = wh_judging_add(judging, a, kind, severity);
    finding->other = b->wheel->position;
    finding->odds = a->odds * b->odds * apart_odds(apart, limit);
    char one[WH_FIGURE_SIZE], two[WH_FIGURE_SIZE], difference[WH_FIGURE_SIZE], reference[WH_FIGURE_SIZE];
    char here[WH_POSITION_SIZE], there[WH_POSITION_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s %s, %s %s", wh_position_text(here, finding->position),
                  wh_gauge_figure(one, a->air.cold, input->pressure_unit), wh_position_text(there, finding->other),
                  wh_gauge_figure(two, b->air.cold, input->pressure_unit));
    if (a->air.basis == WH_COLD_CORRECTED)
        wh_phrase_add(&evidence, ", both at %s",
                      wh_temperature_figure(reference, input->thresholds->reference_c, input->temperature_unit));
    else
        wh_phrase_add(&evidence, ", no temperatures: taken as read");
    wh_phrase_add(&evidence, ": %s apart", wh_difference_figure(difference, apart, input->pressure_unit));
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "more than %s apart", wh_difference_figure(difference, limit, input->pressure_unit));
    return finding;
}

static void judge_duals(wh_judging *judging, const wh_wheel_view *outer, const wh_wheel_view *inner)
{
    const double limit = judging->input->thresholds->dual_difference_kpa;
    if (fabs(outer->air.cold.kpa - inner->air.cold.kpa) <= limit)
        return;
    wh_finding *finding = add_pair(judging, outer, inner, WH_FINDING_DUALS_APART, WH_SEVERITY_CHECK, limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, dual_difference_kpa));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy,
                  "Check both by gauge (a flat dual is hidden by its mate), find the cause, set both alike when cold.");
    wh_judging_inflation(finding, &remedy);
}

static void judge_sides(wh_judging *judging, const wh_wheel_view *left, const wh_wheel_view *right)
{
    const double limit = judging->input->thresholds->side_difference_kpa;
    const wh_gauge one = left->wheel->target, two = right->wheel->target;
    const bool meant_to_differ = one.kpa > 0 && two.kpa > 0 && fabs(one.kpa - two.kpa) > 1.0;
    if (meant_to_differ || fabs(left->air.cold.kpa - right->air.cold.kpa) <= limit)
        return;
    wh_finding *finding = add_pair(judging, left, right, WH_FINDING_SIDES_APART, WH_SEVERITY_CHECK, limit);
    wh_judging_source(judging, finding, offsetof(wh_thresholds, side_difference_kpa));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Check both by gauge, find the cause, set both sides of the axle alike when cold.");
    wh_judging_inflation(finding, &remedy);
}

void wh_judge_pairs(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        const wh_wheel_view *mate = view->mate >= 0 ? &judging->wheels[view->mate] : NULL;
        const wh_wheel_view *across = view->across >= 0 ? &judging->wheels[view->across] : NULL;
        if (mate && view->wheel->position.place == WH_OUTER && comparable(view, mate))
            judge_duals(judging, view, mate);
        if (across && view->wheel->position.side == WH_LEFT && comparable(view, across))
            judge_sides(judging, view, across);
    }
}
