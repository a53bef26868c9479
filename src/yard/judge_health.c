/* What a reading says beside pressure: the tire's temperature, and the sensor's own health. */
#include "judging.h"

#include <string.h>

static void hot(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_judge_input *input = judging->input;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_HOT, WH_SEVERITY_FAULT);
    char figure[WH_FIGURE_SIZE];
    double warmest = -300;
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *other = &judging->wheels[i];
        if (other != view && other->heard && other->heard->temperature_state == WH_VALUE_OK &&
            other->heard->temperature_c > warmest)
            warmest = other->heard->temperature_c;
    }
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s in the tire",
                  wh_temperature_figure(figure, view->heard->temperature_c, input->temperature_unit));
    if (warmest > -300)
        wh_phrase_add(&evidence, "; the warmest of the other wheels has %s",
                      wh_temperature_figure(figure, warmest, input->temperature_unit));
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "at or above %s",
                  wh_temperature_figure(figure, input->thresholds->hot_c, input->temperature_unit));
    wh_judging_source(judging, finding, offsetof(wh_thresholds, hot_c));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Keep away and let it cool; let no air out while it is hot. Then look at brake, bearing and "
                           "load, and gauge the tire.");
    wh_judging_inflation(finding, &remedy);
}

static void battery_low(wh_judging *judging, const wh_wheel_view *view)
{
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_BATTERY_LOW, WH_SEVERITY_CHECK);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s reports a low battery", view->heard->sensor);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "the sensor's own report");
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "the sensor's descriptor");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Fit another sensor when the tire is next off its rim; the battery is part of the sensor.");
}

static const char *fault_text(const wh_heard *heard)
{
    if (heard->pressure_state == WH_VALUE_FAULT)
        return "reports a fault in place of a pressure";
    if (heard->pressure_state == WH_VALUE_IMPLAUSIBLE)
        return "reports a pressure outside the plausible range";
    if (heard->temperature_state == WH_VALUE_FAULT)
        return "reports a fault in place of a temperature";
    return heard->sensor_fault == 1 ? "reports a fault of its own" : NULL;
}

static void sensor_fault(wh_judging *judging, const wh_wheel_view *view, const char *what)
{
    const bool blind = view->air.basis == WH_COLD_NONE;
    wh_finding *finding =
        wh_judging_add(judging, view, WH_FINDING_SENSOR_FAULT, blind ? WH_SEVERITY_FAULT : WH_SEVERITY_CHECK);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s %s%s", view->heard->sensor, what,
                  blind ? "; the tire's pressure is not known" : "; its pressure may be wrong");
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "the sensor's own report; codes that mean a fault are no values");
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "the sensor's descriptor");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy,
                  "Check the pressure by gauge%s. Wake the sensor again; when the fault stays, fit another one.",
                  view->mate >= 0 ? ", of both duals" : "");
}

void wh_judge_health(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        if (!view->heard)
            continue;
        if (view->heard->temperature_state == WH_VALUE_OK &&
            view->heard->temperature_c >= judging->input->thresholds->hot_c)
            hot(judging, view);
        if (view->heard->battery_low == 1)
            battery_low(judging, view);
        const char *fault = fault_text(view->heard);
        if (fault)
            sensor_fault(judging, view, fault);
    }
}
