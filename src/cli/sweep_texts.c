/* What is said about a wheel on a walk. */
#include "sweep_show.h"

#include <stdio.h>
#include <string.h>

const char wh_sweep_keys_text[] =
    "Enter next wheel, Backspace back, w woken, a accept, u undo, n next unit, r repaired, e end, q pause";

/* Seconds after which a sensor that was woken should have been heard: most answer within a few, some only when they are woken
 * again. Common practice, no source. */
#define ANSWER_S 10.0

void wh_sweep_values_text(wh_text *text, const wh_sweep_options *options, const wh_heard *heard)
{
    const wh_report_style *style = &options->run.style;
    char number[WH_FIXED_SIZE];
    if (heard->pressure_state == WH_VALUE_OK) {
        const double value = wh_kpa_to(heard->pressure.kpa, style->pressure);
        wh_text_print(text, "%s %s gauge", wh_fixed(number, value, style->pressure == WH_BAR ? 2 : 0),
                      wh_pressure_unit_name(style->pressure));
    } else {
        wh_text_print(text, "no pressure (%s)",
                      heard->nickname ? "layout known in part" : wh_value_state_name(heard->pressure_state));
    }
    if (heard->temperature_state == WH_VALUE_OK)
        wh_text_print(text, ", %s %s", wh_fixed(number, wh_celsius_to(heard->temperature_c, style->temperature), 0),
                      wh_temperature_unit_name(style->temperature));
    if (heard->battery_low == 1)
        wh_text_add(text, ", battery low");
    if (heard->sensor_fault == 1)
        wh_text_add(text, ", sensor fault");
}

void wh_sweep_seat_text(wh_text *text, const wh_wheel *wheel, const wh_seat *seat)
{
    char odds[WH_FIXED_SIZE];
    if (!seat || seat->state == WH_SEAT_NOT_VISITED) {
        wh_text_add(text, "not visited yet");
        return;
    }
    if (seat->state == WH_SEAT_NOTHING) {
        wh_text_add(text, seat->unknown_bursts > 0 ? "a sensor sends here that no descriptor knows"
                                                   : "none heard that belongs here");
        wh_text_add(text, seat->woken ? ", though woken" : ", not woken");
        return;
    }
    wh_text_add(text, seat->sensor);
    wh_text_add(text, !wheel->sensor[0]                          ? ", none on record"
                      : strcmp(wheel->sensor, seat->sensor) == 0 ? " as on record"
                                                                 : ", another than on record");
    if (seat->state == WH_SEAT_BOUND)
        wh_text_add(text, ", as you said");
    else if (seat->state == WH_SEAT_SURE)
        wh_text_print(text, ", sure (%s)", wh_fixed_down(odds, seat->odds, 2));
    else
        wh_text_print(text, "? not sure (%s%s%s)", wh_fixed_down(odds, seat->odds, 2),
                      seat->runner_up[0] ? "; or " : "", seat->runner_up);
}

void wh_sweep_advice_text(wh_text *text, const wh_sweep_scene *scene, const wh_stop *stop, const wh_seat *seat)
{
    const wh_walk *walk = wh_sweep_run_walk(scene->run);
    const double stood_s = (double)(scene->now_us - walk->since_us) * 1e-6;
    if (!scene->source[0])
        wh_text_add(text, "Nothing can be heard now: wait.");
    else if (seat && wh_insight_settled(seat))
        wh_text_add(text, "Go on to the next wheel.");
    else if (seat && seat->state == WH_SEAT_UNSURE)
        wh_text_add(text, "Hold the antenna close to this tire and wake the sensor again; 'a' accepts the best guess.");
    else if (seat && seat->unknown_bursts > 0)
        wh_text_add(text, "Something sends here that no descriptor knows. Wake it again to be sure, then go on.");
    else if (!stop->woken)
        wh_text_add(text, "Wake the sensor (exciter, or let a little air out), press 'w'.");
    else if (stood_s < ANSWER_S)
        wh_text_add(text, "Woken: wait for its answer.");
    else
        wh_text_add(text, "No answer yet: some answer only at the second try. Wake it again, or go on.");
}
