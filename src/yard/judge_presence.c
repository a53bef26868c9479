/* Is there a sensor in this tire? Three answers are kept apart: not heard, which proves nothing; woken and listened for while
 * others were heard, and no answer; and a sensor that sends what no descriptor reads. */
#include "judging.h"

#include <math.h>
#include <string.h>

/* How long a woken sensor may take: it waits up to forty times a random 0..127 ms before its first frame (NXP UM11227 10.16,
 * initial delay 40 x tRAND), about five seconds. */
#define ANSWER_US INT64_C(5000000)
/* What was heard at that time shows that receiver and air were all right: within ten minutes, and without a gap between. */
#define COMPANY_US INT64_C(600000000)
/* Some sensors answer only at the second try (shop practice, no source). */
#define WAKES_NEEDED 2
/* A sound sensor misses one wake this often, and this many of the recorded sensors are dead or gone when a technician comes to
 * look for one: assumptions, no source. Two wakes without an answer then make 74 %, three 90 %. */
#define WAKE_MISSED  0.3
#define PRIOR_ABSENT 0.2
/* Strong bursts of unknown kind that make a sensor, and the odds of each to be somebody else's (assumption). */
#define BURSTS_NEEDED   2
#define BURST_ELSEWHERE 0.5

static bool is_here(const wh_judging *judging, const wh_event *event, wh_position position)
{
    return strcmp(event->unit, judging->unit->name) == 0 && wh_position_equal(event->position, position);
}

static bool ends_listening(const wh_event *event)
{
    return event->kind == WH_EVENT_GAP || event->kind == WH_EVENT_END;
}

/* Did the receiver go on listening as long as an answer may take? Where the events end, nobody knows yet. */
static bool was_listened_to(const wh_sweep *sweep, size_t woken)
{
    const int64_t until = sweep->events[woken].at_us + ANSWER_US;
    for (size_t i = woken + 1; i < sweep->event_count; i++) {
        if (sweep->events[i].at_us >= until)
            return true;
        if (ends_listening(&sweep->events[i]))
            return false;
    }
    return false;
}

/* Was any sensor heard about then, in the same stretch of listening? */
static bool had_company(const wh_judging *judging, size_t woken)
{
    const wh_sweep *sweep = judging->input->sweep;
    const int64_t at_us = sweep->events[woken].at_us;
    for (size_t i = woken; i-- > 0;) {
        const wh_event *event = &sweep->events[i];
        if (!wh_judging_counts(judging->input, event) || ends_listening(event) || event->at_us < at_us - COMPANY_US)
            break;
        if (event->kind == WH_EVENT_HEARD)
            return true;
    }
    for (size_t i = woken + 1; i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        if (ends_listening(event) || event->at_us > at_us + COMPANY_US)
            break;
        if (event->kind == WH_EVENT_HEARD)
            return true;
    }
    return false;
}

typedef struct wakes {
    unsigned count; /* that were listened to long enough */
    bool company;   /* others were heard beside each of them */
} wakes;

static wakes count_wakes(const wh_judging *judging, wh_position position)
{
    wakes found = {.company = true};
    const wh_sweep *sweep = judging->input->sweep;
    bool listening = false;
    for (size_t i = 0; sweep && i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        listening = event->kind == WH_EVENT_LISTEN || (listening && !ends_listening(event));
        if (!wh_judging_counts(judging->input, event) || event->kind != WH_EVENT_WOKEN ||
            !is_here(judging, event, position))
            continue;
        if (listening && was_listened_to(sweep, i)) {
            found.count++;
            found.company = found.company && had_company(judging, i);
        }
    }
    return found;
}

/* Probability that a sensor that sends by itself every `interval` would have been heard by now. The phase is unknown: in a time
 * of w intervals and a fraction f it sends w + 1 times with probability f, else w times. */
static double heard_by_now(const wh_judging *judging, double listened_s)
{
    const wh_thresholds *thresholds = judging->input->thresholds;
    const double sendings = fmax(listened_s, 0) / thresholds->interval_s;
    const double whole = floor(sendings);
    const double missed = 1.0 - thresholds->heard_share;
    return 1.0 - pow(missed, whole) * (1.0 - (sendings - whole) * thresholds->heard_share);
}

/* Where the sensor on record here went, when it is at another wheel. */
static void add_whereabouts(const wh_judging *judging, const wh_wheel_view *view, wh_phrase *evidence)
{
    for (unsigned i = 0; i < judging->wheel_count && view->wheel->sensor[0]; i++) {
        const wh_wheel_view *there = &judging->wheels[i];
        if (there == view || strcmp(there->seat->sensor, view->wheel->sensor) != 0)
            continue;
        const bool filled = wh_seat_filled(there->seat, judging->input->thresholds->sure_odds);
        char place[WH_POSITION_SIZE];
        wh_phrase_add(evidence, "; the sensor on record here %s at %s", filled ? "is" : "may be",
                      wh_position_text(place, there->wheel->position));
    }
}

static void add_check_by_gauge(const wh_wheel_view *view, wh_phrase *remedy)
{
    if (view->mate >= 0)
        wh_phrase_add(remedy, " Check both duals by gauge: a flat one is hidden by its mate.");
    else
        wh_phrase_add(remedy, " Check the pressure by gauge.");
}

static void not_heard(wh_judging *judging, const wh_wheel_view *view, const wakes *woken)
{
    const wh_seat *seat = view->seat;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_NOT_HEARD, WH_SEVERITY_NOTE);
    finding->odds = 1.0; /* that nothing was heard is certain; what it means is not */
    char time[WH_FIGURE_SIZE], interval[WH_FIGURE_SIZE], chance[WH_FIGURE_SIZE], place[WH_POSITION_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "listened %s", wh_duration_figure(time, seat->listened_s));
    if (seat->state == WH_SEAT_NOT_VISITED)
        wh_phrase_add(&evidence, ", nobody stood here yet");
    else
        wh_phrase_add(&evidence, ", %s of it here", wh_duration_figure(time, seat->stood_s));
    if (woken->count == 0)
        wh_phrase_add(&evidence, ", not woken here while listening");
    else
        wh_phrase_add(&evidence, ", woken %u time%s here", woken->count, woken->count == 1 ? "" : "s");
    if (woken->count >= WAKES_NEEDED)
        wh_phrase_add(&evidence, ", but no other sensor was heard about then either");
    wh_phrase_add(&evidence, "; one that sends every %s would have been heard with %s, a parked one is silent",
                  wh_duration_figure(interval, judging->input->thresholds->interval_s),
                  wh_share_figure(chance, heard_by_now(judging, seat->listened_s)));
    add_whereabouts(judging, view, &evidence);

    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "silence proves nothing: a parked sensor sends when it is woken or its pressure changes");
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "FCC modes table of a tire sensor: stationary, no transmissions");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "Stand at %s, wake the sensor, and once more when it does not answer.",
                  wh_position_text(place, view->wheel->position));
    add_check_by_gauge(view, &remedy);
}

static void no_answer(wh_judging *judging, const wh_wheel_view *view, const wakes *woken)
{
    const double missed = pow(WAKE_MISSED, woken->count);
    const double odds = PRIOR_ABSENT / (PRIOR_ABSENT + (1.0 - PRIOR_ABSENT) * missed);
    const wh_severity severity = !view->wheel->sensor[0]                         ? WH_SEVERITY_NOTE
                                 : odds >= judging->input->thresholds->sure_odds ? WH_SEVERITY_FAULT
                                                                                 : WH_SEVERITY_CHECK;
    wh_finding *finding = wh_judging_add(judging, view, WH_FINDING_NO_ANSWER, severity);
    finding->odds = odds;
    char time[WH_FIGURE_SIZE];
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    wh_phrase_add(&evidence, "woken %u times at the wheel, listened %s there; other sensors were heard meanwhile",
                  woken->count, wh_duration_figure(time, view->seat->stood_s));
    add_whereabouts(judging, view, &evidence);
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "woken %d times or more at the wheel, others heard at that time, this one not", WAKES_NEEDED);
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "common practice, no source: some sensors answer only at the second try");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy,
                  "Try once more close to the valve. If it stays silent, the tire has no sensor, or a dead one: "
                  "fit one when the tire is off.");
    add_check_by_gauge(view, &remedy);
}

static void layout_unknown(wh_judging *judging, const wh_wheel_view *view)
{
    const wh_seat *seat = view->seat;
    const bool named = view->identity.kind != WH_IDENTITY_EMPTY;
    const bool known = view->identity.kind == WH_IDENTITY_AS_RECORDED;
    wh_finding *finding =
        wh_judging_add(judging, view, WH_FINDING_LAYOUT_UNKNOWN, known ? WH_SEVERITY_NOTE : WH_SEVERITY_CHECK);
    wh_phrase evidence = WH_EVIDENCE_PHRASE(finding);
    if (named) {
        wh_phrase_add(&evidence, "heard %u time%s, layout known in part: by its unchanging bits it is called %s%s",
                      seat->readings, seat->readings == 1 ? "" : "s", seat->sensor, known ? ", as on record" : "");
    } else {
        finding->odds = 1.0 - pow(BURST_ELSEWHERE, seat->unknown_bursts);
        wh_phrase_add(&evidence, "%u strong bursts at this wheel that no descriptor reads", seat->unknown_bursts);
    }
    wh_phrase rule = WH_RULE_PHRASE(finding);
    wh_phrase_add(&rule, "a sensor sends here, but its ID and pressure cannot be read");
    wh_phrase source = wh_phrase_in(finding->rule_source, sizeof finding->rule_source);
    wh_phrase_add(&source, "program rule: presence needs no layout, and no pressure is made up");
    wh_phrase remedy = WH_REMEDY_PHRASE(finding);
    wh_phrase_add(&remedy, "The tire has a sensor; take its ID from the sensor or its papers.");
    if (named && !known)
        wh_phrase_add(&remedy, " Enter the name in the roster to know it again.");
    else if (!named)
        wh_phrase_add(&remedy, " Keep the recording: a descriptor can be made from it.");
    add_check_by_gauge(view, &remedy);
}

void wh_judge_presence(wh_judging *judging)
{
    for (unsigned i = 0; i < judging->wheel_count; i++) {
        const wh_wheel_view *view = &judging->wheels[i];
        const wh_identity_kind kind = view->identity.kind;
        const bool nickname =
            kind == WH_IDENTITY_NICKNAME || (kind == WH_IDENTITY_AS_RECORDED && view->heard && view->heard->nickname);
        /* A wheel whose own sensor was heard, but could not be placed, is not silent: wh_judge_identity says so. */
        const bool silent = kind == WH_IDENTITY_EMPTY && !view->heard;
        if (nickname || (silent && view->seat->unknown_bursts >= BURSTS_NEEDED)) {
            layout_unknown(judging, view);
            continue;
        }
        if (!silent)
            continue;
        const wakes woken = count_wakes(judging, view->wheel->position);
        const bool expected = view->wheel->sensor[0] || view->seat->state != WH_SEAT_NOT_VISITED;
        if (woken.count >= WAKES_NEEDED && woken.company)
            no_answer(judging, view, &woken);
        else if (expected)
            not_heard(judging, view, &woken);
    }
}
