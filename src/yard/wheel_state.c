#include "wheel_state.h"

#include <string.h>

/* Meaning is carried by the symbol and the word; colour only repeats it. The symbols differ in outline and in how much of
 * the cell they fill, so that they stay apart in one colour, in print and for every kind of colour vision. */
static const struct {
    const char *name, *symbol;
    char ascii;
} tones[WH_TONE_COUNT] = {
    [WH_TONE_WAITING] = {"not visited", "\u00B7", '.'}, /* middle dot */
    [WH_TONE_SILENT] = {"silent", "\u25CB", 'o'},       /* white circle */
    [WH_TONE_QUIET] = {"no finding", "\u2212", '-'},    /* minus */
    [WH_TONE_CHECK] = {"check", "\u25B2", '!'},         /* black triangle */
    [WH_TONE_FAULT] = {"fault", "\u2716", 'X'},         /* heavy cross */
};

static const char *const words[WH_FINDING_KIND_COUNT] = {
    [WH_FINDING_NOT_HEARD] = "not heard",
    [WH_FINDING_NO_ANSWER] = "no answer",
    [WH_FINDING_NOT_ON_RECORD] = "new ID",
    [WH_FINDING_OTHER_POSITION] = "moved",
    [WH_FINDING_OTHER_UNIT] = "other unit",
    [WH_FINDING_CROSSED] = "crossed",
    [WH_FINDING_LAYOUT_UNKNOWN] = "unknown kind",
    [WH_FINDING_NOT_SURE] = "not sure",
    [WH_FINDING_FLAT] = "flat",
    [WH_FINDING_FAR_TOO_LOW] = "far too low",
    [WH_FINDING_LOW] = "low",
    [WH_FINDING_HIGH] = "high",
    [WH_FINDING_DUALS_APART] = "duals apart",
    [WH_FINDING_SIDES_APART] = "sides apart",
    [WH_FINDING_LOSING_AIR] = "losing air",
    [WH_FINDING_HOT] = "hot",
    [WH_FINDING_BATTERY_LOW] = "battery",
    [WH_FINDING_SENSOR_FAULT] = "sensor fault",
    [WH_FINDING_SAME_ID] = "ID twice",
};

const char *wh_finding_kind_word(wh_finding_kind kind)
{
    return (unsigned)kind < WH_FINDING_KIND_COUNT ? words[kind] : "?";
}

const char *wh_wheel_tone_name(wh_wheel_tone tone)
{
    return (unsigned)tone < WH_TONE_COUNT ? tones[tone].name : "?";
}

const char *wh_wheel_tone_symbol(wh_wheel_tone tone)
{
    return (unsigned)tone < WH_TONE_COUNT ? tones[tone].symbol : "?";
}

char wh_wheel_tone_ascii(wh_wheel_tone tone)
{
    return (unsigned)tone < WH_TONE_COUNT ? tones[tone].ascii : '?';
}

static bool concerns(const wh_finding *finding, const char *unit, wh_position position)
{
    if (strcmp(finding->unit, unit) != 0)
        return false;
    const bool same_unit = !finding->other_unit[0] || strcmp(finding->other_unit, unit) == 0;
    return wh_position_equal(finding->position, position) ||
           (same_unit && finding->other.axle > 0 && wh_position_equal(finding->other, position));
}

static wh_wheel_tone tone_without_finding(const wh_seat *seat)
{
    switch (seat->state) {
    case WH_SEAT_NOT_VISITED: return WH_TONE_WAITING;
    case WH_SEAT_NOTHING: return WH_TONE_SILENT;
    case WH_SEAT_UNSURE: return WH_TONE_CHECK;
    default: return WH_TONE_QUIET;
    }
}

/* A note about a wheel that was not heard leaves it silent; other notes deserve a look. */
static wh_wheel_tone tone_of_finding(const wh_finding *finding, wh_wheel_tone without)
{
    if (finding->severity == WH_SEVERITY_FAULT)
        return WH_TONE_FAULT;
    if (finding->severity == WH_SEVERITY_NOTE && (without == WH_TONE_WAITING || without == WH_TONE_SILENT))
        return without;
    return WH_TONE_CHECK;
}

wh_wheel_state wh_wheel_state_of(const wh_seat *seat, const char *unit, const wh_findings *findings)
{
    wh_wheel_state state = {.tone = tone_without_finding(seat)};
    for (size_t i = 0; findings && i < findings->count; i++) {
        const wh_finding *finding = &findings->items[i];
        if (!concerns(finding, unit, seat->position))
            continue;
        state.further += state.worst ? 1 : 0;
        if (!state.worst || finding->severity > state.worst->severity)
            state.worst = finding;
    }
    if (state.worst)
        state.tone = tone_of_finding(state.worst, state.tone);
    /* Nobody stood there: that says more than "not heard". */
    const bool waiting = state.tone == WH_TONE_WAITING;
    state.word = state.worst && !waiting         ? wh_finding_kind_word(state.worst->kind)
                 : seat->state == WH_SEAT_UNSURE ? "not sure"
                 : state.tone == WH_TONE_SILENT  ? "not heard"
                                                 : wh_wheel_tone_name(state.tone);
    state.symbol = wh_wheel_tone_symbol(state.tone);
    state.ascii = wh_wheel_tone_ascii(state.tone);
    return state;
}
