#include "sweep_insight.h"

#include <stdlib.h>
#include <string.h>

typedef struct slot {
    char unit[WH_UNIT_NAME_SIZE];
    size_t events; /* how many there were when it was worked out */
    wh_attribution *attribution;
    wh_findings *findings;
    wh_sweep_insight insight;
} slot;

struct wh_sweep_insights {
    const wh_roster *roster;
    const wh_insight_options *options;
    slot *slots; /* one per unit asked about */
    size_t count;
};

wh_sweep_insights *wh_sweep_insights_create(const wh_roster *roster, const wh_insight_options *options)
{
    wh_sweep_insights *insights = calloc(1, sizeof *insights);
    if (insights) {
        insights->roster = roster;
        insights->options = options;
    }
    return insights;
}

static void clear(slot *s)
{
    wh_findings_free(&s->findings);
    wh_attribution_free(&s->attribution);
}

void wh_sweep_insights_destroy(wh_sweep_insights **insights)
{
    if (!*insights)
        return;
    for (size_t i = 0; i < (*insights)->count; i++)
        clear(&(*insights)->slots[i]);
    free((*insights)->slots);
    free(*insights);
    *insights = NULL;
}

static slot *slot_of(wh_sweep_insights *insights, const char *unit)
{
    for (size_t i = 0; i < insights->count; i++)
        if (strcmp(insights->slots[i].unit, unit) == 0)
            return &insights->slots[i];
    slot *more = realloc(insights->slots, (insights->count + 1) * sizeof *more);
    if (!more)
        return NULL;
    insights->slots = more;
    slot *s = &more[insights->count++];
    memset(s, 0, sizeof *s);
    s->events = SIZE_MAX;
    strncpy(s->unit, unit, sizeof s->unit - 1);
    return s;
}

static wh_status work_out(const wh_sweep_insights *insights, slot *s, const wh_sweep *sweep, wh_error *error)
{
    const wh_insight_options *options = insights->options;
    clear(s);
    const int64_t mark = wh_sweep_repaired(sweep, s->unit);
    wh_status status = wh_attribute(insights->roster, sweep, s->unit, mark, &s->attribution, error);
    if (status != WH_OK)
        return status;
    /* Without the past: what takes days to see is for the findings at the end, from the store. */
    const wh_judge_input input = {.roster = insights->roster,
                                  .unit = s->unit,
                                  .sweep = sweep,
                                  .after_id = mark,
                                  .attribution = s->attribution,
                                  .thresholds = options->thresholds,
                                  .site = options->site,
                                  .pressure_unit = options->pressure_unit,
                                  .temperature_unit = options->temperature_unit};
    return wh_judge(&input, &s->findings, error);
}

const wh_sweep_insight *wh_sweep_insight_of(wh_sweep_insights *insights, const wh_sweep *sweep, const char *unit,
                                            wh_error *error)
{
    slot *s = slot_of(insights, unit);
    if (!s) {
        wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
        return NULL;
    }
    if (s->events != sweep->event_count) {
        s->events = SIZE_MAX;
        if (work_out(insights, s, sweep, error) != WH_OK)
            return NULL;
        s->events = sweep->event_count;
        s->insight = (wh_sweep_insight){wh_roster_find(insights->roster, unit), s->attribution, s->findings};
    }
    return &s->insight;
}

void wh_sweep_insights_forget(wh_sweep_insights *insights)
{
    for (size_t i = 0; i < insights->count; i++)
        insights->slots[i].events = SIZE_MAX;
}

const wh_seat *wh_insight_seat(const wh_sweep_insight *insight, wh_position position)
{
    for (unsigned i = 0; insight && i < insight->attribution->seat_count; i++)
        if (wh_position_equal(insight->attribution->seats[i].position, position))
            return &insight->attribution->seats[i];
    return NULL;
}

bool wh_insight_settled(const wh_seat *seat)
{
    return seat && (seat->state == WH_SEAT_SURE || seat->state == WH_SEAT_BOUND);
}
