/* Is the sensor at each wheel the one on record there? */
#include "changes.h"
#include "judging.h"

#include <math.h>
#include <string.h>

/* A sensor that is on no record may be passing by: it takes three strong readings at the wheel before it is called this wheel's
 * without sure odds (common practice in yards, no source). */
#define STRANGER_READINGS 3
#define STRANGER_ODDS     0.5

static unsigned strong_readings(const wh_judging *judging, const char *sensor)
{
    unsigned count = 0;
    size_t index = 0;
    for (const wh_event *event; (event = wh_judging_event(judging, &index)); index++) {
        if (event->kind == WH_EVENT_HEARD && strcmp(event->heard.sensor, sensor) == 0 &&
            event->heard.snr_db >= judging->input->thresholds->strong_snr_db)
            count++;
    }
    return count;
}

static const char *place_text(const wh_judging *judging, unsigned wheel, char text[WH_POSITION_SIZE])
{
    return wh_position_text(text, judging->wheels[wheel].wheel->position);
}

/* How we know that this sensor is here. */
static void add_how(const wh_wheel_view *view, wh_phrase *evidence)
{
    char odds[WH_FIGURE_SIZE];
    if (view->seat->state == WH_SEAT_BOUND)
        wh_phrase_add(evidence, "%s is here, the technician said", view->seat->sensor);
    else
        wh_phrase_add(evidence, "%s heard %u time%s, here by its levels with %s", view->seat->sensor,
                      view->seat->readings, view->seat->readings == 1 ? "" : "s",
                      wh_share_figure(odds, view->seat->odds));
}

static void add_recorded(const wh_wheel_view *view, wh_phrase *evidence)
{
    if (view->wheel->sensor[0])
        wh_phrase_add(evidence, "; on record here: %s", view->wheel->sensor);
    else
        wh_phrase_add(evidence, "; no sensor is on record here");
}

/* "Enter 0A1B2C40 (decimal 169552960) for 3LO". */
static void add_enter(const wh_wheel_view *view, const char *verb, wh_phrase *remedy)
{
    char place[WH_POSITION_SIZE], decimal[WH_ID_DECIMAL_SIZE];
    wh_phrase_add(remedy, "%s %s", verb, view->seat->sensor);
    if (wh_sensor_id_decimal(view->seat->sensor, decimal))
        wh_phrase_add(remedy, " (decimal %s)", decimal);
    wh_phrase_add(remedy, " for %s", wh_position_text(place, view->wheel->position));
}

/* A finding about the sensor placed at this wheel. */
static wh_finding *add_placed(wh_judging *judging, const wh_wheel_view *view, wh_finding_kind kind,
                              wh_severity severity)
{
    wh_finding *finding = wh_judging_add(judging, view, kind, severity);
    memcpy(finding->sensor, view->seat->sensor, sizeof finding->sensor);
    const double confidence = view->seat->answered ? view->seat->latest.confidence : 1.0;
    finding->odds = (view->seat->state == WH_SEAT_BOUND ? 1.0 : view->seat->odds) * confidence;
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "the fleet's roster; levels at the wheels, see the model of attribution");
    return finding;
}

static void not_on_record(wh_judging *judging, const wh_wheel_view *view, bool confirmed)
{
    wh_finding *finding =
        add_placed(judging, view, WH_FINDING_NOT_ON_RECORD, confirmed ? WH_SEVERITY_FAULT : WH_SEVERITY_CHECK);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    add_how(view, &evidence);
    add_recorded(view, &evidence);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "the sensor at the wheel is on record nowhere in the fleet");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    if (view->seat->sensor[0] == '~') { /* a nickname: good enough to know it again, nothing a vehicle can take */
        add_enter(view, "Enter", &remedy);
        wh_phrase_add(&remedy,
                      " in the roster. The vehicle needs the ID itself: take it from the sensor or its papers.");
    } else if (confirmed) {
        add_enter(view, "Enter", &remedy);
        wh_phrase_add(&remedy, " with the vehicle's own tool, and in the roster.");
    } else {
        char place[WH_POSITION_SIZE];
        wh_phrase_add(&remedy, "Wake the sensor at %s once more and hear whether it is this one. If so: ",
                      wh_position_text(place, view->wheel->position));
        add_enter(view, "enter", &remedy);
        wh_phrase_add(&remedy, ".");
    }
}

static void moved(wh_judging *judging, const wh_wheel_view *view)
{
    const unsigned home = view->identity.home;
    wh_finding *finding = add_placed(judging, view, WH_FINDING_OTHER_POSITION, WH_SEVERITY_FAULT);
    finding->other = judging->wheels[home].wheel->position;
    char place[WH_POSITION_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    add_how(view, &evidence);
    wh_phrase_add(&evidence, ", but on record at %s", place_text(judging, home, place));
    add_recorded(view, &evidence);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "the sensor at the wheel is on record for another wheel of the unit");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    add_enter(view, "Enter", &remedy);
    wh_phrase_add(&remedy, "; %s gets the ID of the sensor that is there.", place_text(judging, home, place));
}

static void crossed(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_wheel_view *there = &judging->wheels[view->identity.home];
    wh_finding *finding = add_placed(judging, view, WH_FINDING_CROSSED, WH_SEVERITY_FAULT);
    finding->other = there->wheel->position;
    finding->odds = fmin(finding->odds, there->seat->state == WH_SEAT_BOUND ? 1.0 : there->odds);
    char here[WH_POSITION_SIZE], over[WH_POSITION_SIZE];
    wh_position_text(here, finding->position);
    wh_position_text(over, finding->other);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "%s heard at %s and on record at %s, %s heard at %s and on record at %s",
                  view->seat->sensor, here, over, there->seat->sensor, over, here);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "each of two wheels has the sensor on record for the other");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    add_enter(view, "Enter", &remedy);
    add_enter(there, " and", &remedy);
    wh_phrase_add(&remedy, ". Only if the wheels were not meant to change places: put them back instead.");
}

/* The same words at each wheel of the circle, so that nobody mends one of them another way. */
static void in_circle(wh_judging *judging, const wh_wheel_view *view)
{
    wh_finding *finding = add_placed(judging, view, WH_FINDING_OTHER_POSITION, WH_SEVERITY_FAULT);
    finding->other = judging->wheels[view->identity.home].wheel->position;
    char place[WH_POSITION_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    add_how(view, &evidence);
    wh_phrase_add(&evidence, ", but on record at %s", place_text(judging, view->identity.home, place));
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "%u wheels have each other's sensors in a circle", view->identity.circle);
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Enter the IDs of all wheels of the circle as the change list has them: ");
    unsigned first = (unsigned)(view - judging->wheels), at = first;
    do { /* the remedy begins with the first wheel of the walk, whichever wheel it stands at */
        at = judging->wheels[at].identity.home;
        first = at < first ? at : first;
    } while (at != (unsigned)(view - judging->wheels));
    at = first;
    do {
        wh_phrase_add(&remedy, "%s%s", at == first ? "" : ", ", place_text(judging, at, place));
        at = judging->wheels[at].identity.home;
    } while (at != first);
    wh_phrase_add(&remedy, ".");
}

static void other_unit(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_unit *unit = view->identity.other_unit;
    wh_finding *finding = add_placed(judging, view, WH_FINDING_OTHER_UNIT, WH_SEVERITY_FAULT);
    memcpy(finding->other_unit, unit->name, sizeof finding->other_unit);
    finding->other = view->identity.other;
    char place[WH_POSITION_SIZE];
    wh_position_text(place, finding->other);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    add_how(view, &evidence);
    wh_phrase_add(&evidence, ", but on record for %s at %s", unit->name, place);
    add_recorded(view, &evidence);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "the sensor at the wheel is on record for another unit");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "If the tire came from that unit: ");
    add_enter(view, "enter", &remedy);
    wh_phrase_add(&remedy, " and take it off that unit's record. If that unit stands close: stand here again.");
}

static void add_candidate(wh_phrase *evidence, const char *sensor, double odds)
{
    char share[WH_FIGURE_SIZE];
    if (sensor[0])
        wh_phrase_add(evidence, "%s with %s, ", sensor, wh_share_figure(share, odds));
}

/* The levels do not decide, or the wheel's own sensor was heard but could not be placed. */
static void not_sure(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_seat *seat = view->seat;
    const bool candidates = view->identity.kind == WH_IDENTITY_UNSURE;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_NOT_SURE, WH_SEVERITY_CHECK);
    if (candidates)
        memcpy(finding->sensor, seat->sensor, sizeof finding->sensor);
    finding->odds = 1.0; /* that the levels do not tell is certain */
    char place[WH_POSITION_SIZE], share[WH_FIGURE_SIZE], figure[WH_FIGURE_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    if (candidates) {
        add_candidate(&evidence, seat->sensor, seat->odds);
        add_candidate(&evidence, seat->runner_up, seat->runner_up_odds);
        wh_phrase_add(&evidence, "none of those heard with %s", wh_share_figure(share, seat->empty_odds));
    } else {
        wh_phrase_add(&evidence, "%s, on record here, was heard, but its levels fit no wheel", view->heard->sensor);
    }
    if (view->air.basis != WH_COLD_NONE)
        wh_phrase_add(&evidence, "; %s reads %s", view->heard->sensor,
                      wh_gauge_figure(figure, view->air.pressure, judging->input->pressure_unit));
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "a sensor is taken to be at a wheel from odds of %s on",
                  wh_share_figure(share, judging->input->thresholds->sure_odds));
    wh_judging_source(judging, finding, offsetof(wh_thresholds, sure_odds));
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Stand at %s again, close to the valve, and wake the sensor there.",
                  wh_position_text(place, view->wheel->position));
}

static void unsure(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_seat *seat = view->seat;
    const bool on_record = wh_roster_places(judging->input->roster, seat->sensor, NULL, 0) > 0;
    const bool nickname = seat->sensor[0] == '~';
    if (!on_record && !nickname && seat->odds >= STRANGER_ODDS &&
        strong_readings(judging, seat->sensor) >= STRANGER_READINGS)
        not_on_record(judging, view, false);
    else
        not_sure(judging, view);
}

void wh_judge_identity(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        switch (view->identity.kind) {
        case WH_IDENTITY_NEW:
            not_on_record(judging, view, !wh_change_needs_confirming(&view->identity, view->seat));
            break;
        case WH_IDENTITY_MOVED: moved(judging, view); break;
        case WH_IDENTITY_CROSSED:
            if (view->identity.home > i) /* one finding for both */
                crossed(judging, view);
            break;
        case WH_IDENTITY_CIRCLE: in_circle(judging, view); break;
        case WH_IDENTITY_OTHER_UNIT: other_unit(judging, view); break;
        case WH_IDENTITY_UNSURE: unsure(judging, view); break;
        case WH_IDENTITY_EMPTY:
            if (view->heard)
                not_sure(judging, view);
            break;
        case WH_IDENTITY_AS_RECORDED:
        case WH_IDENTITY_NICKNAME: break; /* wh_judge_presence speaks of nicknames */
        }
    }
}
