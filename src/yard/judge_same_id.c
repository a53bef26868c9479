/* One ID from two transmitters: a copied sensor, or a wrong ID written into one. Two transmitters take turns, so what is heard
 * of the ID goes back and forth between two values; one transmitter's pressure, temperature and carrier move slowly, or one
 * way (air let out to wake it). */
#include "judging.h"

#include <math.h>
#include <string.h>

/* Readings further apart in time do not contradict each other. */
#define CLOSE_US INT64_C(120000000)
/* What one transmitter does not do within that time and back again. Pressure: a filled tire holds it; sensors repeat within 10 kPa.
 * Temperature: the sensor's own mass takes minutes for ten degrees. Carrier: crystals drift with temperature by a few kHz at
 * 434 MHz, while two of a kind differ by their tolerance of up to +-35 kHz (FCC user-manual exhibit RD096). */
#define PRESSURE_KPA  50.0
#define TEMPERATURE_C 15.0
#define CARRIER_HZ    15e3
/* Wrong readings also contradict right ones. */
#define CONFIDENCE 0.9
/* The chance of one contradiction to come from wrong readings or a meddled-with tire (assumption). */
#define BY_CHANCE 0.2

enum quantity { PRESSURE, TEMPERATURE, CARRIER, QUANTITY_COUNT };

static const struct {
    const char *name;
    double limit;
} quantities[QUANTITY_COUNT] = {
    [PRESSURE] = {"pressure", PRESSURE_KPA},
    [TEMPERATURE] = {"temperature", TEMPERATURE_C},
    [CARRIER] = {"carrier", CARRIER_HZ},
};

/* What was seen of one quantity. */
typedef struct alternation {
    unsigned jumps; /* that went the other way than the one before, the first counted too */
    int direction;  /* of the last */
    double low, high;
} alternation;

static double value_of(const wh_heard *heard, enum quantity quantity, wh_absolute site)
{
    switch (quantity) {
    case PRESSURE:
        return heard->pressure_state == WH_VALUE_OK ? wh_tire_air_of(heard, 0, site).pressure.kpa : (double)NAN;
    case TEMPERATURE: return heard->temperature_state == WH_VALUE_OK ? heard->temperature_c : (double)NAN;
    default: return heard->carrier_hz;
    }
}

static void compare(alternation *seen, double before, double now, double limit)
{
    const double change = now - before;
    if (!(fabs(change) > limit)) /* NaN: one of them had no value */
        return;
    const int direction = change > 0 ? 1 : -1;
    if (direction == seen->direction)
        return;
    seen->low = seen->jumps ? fmin(seen->low, fmin(before, now)) : fmin(before, now);
    seen->high = seen->jumps ? fmax(seen->high, fmax(before, now)) : fmax(before, now);
    seen->direction = direction;
    seen->jumps++;
}

static void collect(const wh_judging *judging, const char *sensor, alternation seen[QUANTITY_COUNT])
{
    const wh_event *before = NULL;
    size_t index = 0;
    for (const wh_event *event; (event = wh_judging_event(judging, &index)); index++) {
        if (event->kind == WH_EVENT_LISTEN)
            before = NULL; /* another source may tune another centre */
        if (event->kind != WH_EVENT_HEARD || strcmp(event->heard.sensor, sensor) != 0 ||
            event->heard.confidence < CONFIDENCE || event->heard.nickname)
            continue;
        for (int q = 0; before && event->at_us - before->at_us <= CLOSE_US && q < QUANTITY_COUNT; q++)
            compare(&seen[q], value_of(&before->heard, (enum quantity)q, judging->input->site),
                    value_of(&event->heard, (enum quantity)q, judging->input->site), quantities[q].limit);
        before = event;
    }
}

static void add_range(const wh_judging *judging, const alternation seen[QUANTITY_COUNT], wh_phrase *evidence)
{
    const wh_judge_input *input = judging->input;
    char low[WH_FIGURE_SIZE], high[WH_FIGURE_SIZE];
    if (seen[PRESSURE].jumps)
        wh_phrase_add(evidence, ", pressure %s and %s",
                      wh_gauge_figure(low, (wh_gauge){seen[PRESSURE].low}, input->pressure_unit),
                      wh_gauge_figure(high, (wh_gauge){seen[PRESSURE].high}, input->pressure_unit));
    if (seen[TEMPERATURE].jumps)
        wh_phrase_add(evidence, ", temperature %s and %s",
                      wh_temperature_figure(low, seen[TEMPERATURE].low, input->temperature_unit),
                      wh_temperature_figure(high, seen[TEMPERATURE].high, input->temperature_unit));
    if (seen[CARRIER].jumps)
        wh_phrase_add(evidence, ", carriers %d kHz apart", (int)lround((seen[CARRIER].high - seen[CARRIER].low) / 1e3));
}

static void judge_sensor(wh_judging *judging, const wh_wheel_view *view, const char *sensor)
{
    alternation seen[QUANTITY_COUNT] = {{0}};
    collect(judging, sensor, seen);
    unsigned most = 0, kinds = 0, jumps = 0;
    for (int q = 0; q < QUANTITY_COUNT; q++) {
        most = seen[q].jumps > most ? seen[q].jumps : most;
        kinds += seen[q].jumps > 0;
        jumps += seen[q].jumps;
    }
    /* Back and forth in one quantity, or two different ones at odds. Letting air out moves pressure alone, one way. */
    if (most < 2 && kinds < 2)
        return;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_SAME_ID, WH_SEVERITY_CHECK);
    memcpy(finding->sensor, sensor, sizeof finding->sensor);
    finding->odds = 1.0 - pow(BY_CHANCE, jumps);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s within two minutes at two values, back and forth %u time%s", sensor, jumps,
                  jumps == 1 ? "" : "s");
    add_range(judging, seen, &evidence);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "one ID at odds with itself in pressure, temperature or carrier within two minutes");
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "program rule: IDs can be copied, receivers cannot tell (USENIX Security 2010)");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Find the second sensor with this ID: hear each wheel alone, and the units beside. "
                           "Trust no reading of this ID until then; check pressures by gauge.");
}

void wh_judge_same_id(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        if (view->heard)
            judge_sensor(judging, view, view->heard->sensor);
    }
}
