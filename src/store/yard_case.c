#include "yard_case.h"

#include "nearest_word.h"
#include "sweep_list.h"

#include <stdlib.h>
#include <string.h>

/* A copy of a sweep with its first `count` events only. NULL when memory is out. */
static wh_sweep *copy_beginning(const wh_sweep *sweep, size_t count)
{
    const char *names[WH_WHEELS_MAX];
    const size_t units = sweep->unit_count < WH_WHEELS_MAX ? sweep->unit_count : WH_WHEELS_MAX;
    for (size_t i = 0; i < units; i++)
        names[i] = sweep->units[i];
    wh_sweep *copy = wh_sweep_create(names, units);
    if (!copy)
        return NULL;
    copy->id = sweep->id;
    copy->dated = sweep->dated;
    copy->begun_us = sweep->begun_us;
    memcpy(copy->who, sweep->who, sizeof copy->who);
    memcpy(copy->source, sweep->source, sizeof copy->source);
    memcpy(copy->receiver, sweep->receiver, sizeof copy->receiver);
    for (size_t i = 0; i < count; i++) {
        if (wh_sweep_add(copy, &sweep->events[i]) != WH_OK)
            wh_sweep_free(&copy);
        if (!copy)
            return NULL;
    }
    return copy;
}

static wh_status no_such_unit(const wh_roster *roster, const char *name, wh_error *error)
{
    const char *names[256];
    size_t count = 0;
    for (; count < wh_roster_count(roster) && count < sizeof names / sizeof *names; count++)
        names[count] = wh_roster_at(roster, count)->name;
    const char *nearest = wh_nearest_word(name, names, count);
    if (nearest)
        return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark roster list' shows all units",
                       "there is no unit '%s' on the roster (did you mean '%s'?)", name, nearest);
    return wh_fail(error, WH_ERR_NOT_FOUND,
                   count ? "'wheelhark roster list' shows all units"
                         : "bring one in with 'wheelhark roster import FILE'",
                   count ? "there is no unit '%s' on the roster" : "the roster is empty: there is no unit '%s'", name);
}

static wh_status load_sweep(wh_store *store, wh_yard_case *yard_case, int64_t wanted, wh_error *error)
{
    const char *unit = yard_case->unit->name;
    if (wanted == 0) {
        wh_sweep_head *heads = NULL;
        size_t count = 0;
        const wh_sweep_filter filter = {.unit = unit, .most = 1};
        const wh_status status = wh_store_sweep_list(store, &filter, &heads, &count, error);
        if (status == WH_OK && count > 0)
            wanted = heads[0].id;
        free(heads);
        if (status != WH_OK)
            return status;
        if (wanted == 0)
            return wh_fail(error, WH_ERR_NOT_FOUND, "walk round it with 'wheelhark sweep UNIT' first",
                           "unit '%s' was not swept yet", unit);
    }
    const wh_status status = wh_store_sweep_load(store, wanted, &yard_case->sweep, error);
    if (status != WH_OK)
        return status;
    if (!wh_sweep_has_unit(yard_case->sweep, unit))
        return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark findings UNIT --history' lists its sweeps",
                       "sweep %lld did not go round unit '%s'", (long long)wanted, unit);
    return WH_OK;
}

static wh_status attribute(const wh_roster *roster, const char *unit, const wh_case_options *options,
                           const wh_sweep *sweep, int64_t after_id, wh_attribution **out, wh_error *error)
{
    const wh_status status = wh_attribute(roster, sweep, unit, after_id, out, error);
    if (status == WH_OK)
        wh_attribution_set_sure(*out, options->thresholds->sure_odds);
    return status;
}

/* Adds a sensor unless it is there already, or there is none. */
static void add_once(const char **sensors, size_t *count, const char *sensor)
{
    bool there = !sensor[0];
    for (size_t i = 0; i < *count && !there; i++)
        there = strcmp(sensors[i], sensor) == 0;
    if (!there)
        sensors[(*count)++] = sensor;
}

/* The unit's sensors: what is on record, and what was heard at its wheels. */
static wh_status load_past(wh_store *store, wh_yard_case *yard_case, wh_error *error)
{
    const char *sensors[2 * WH_WHEELS_MAX];
    size_t count = 0;
    for (unsigned i = 0; i < yard_case->unit->wheel_count; i++)
        add_once(sensors, &count, yard_case->unit->wheels[i].sensor);
    for (unsigned i = 0; i < yard_case->attribution->seat_count; i++)
        add_once(sensors, &count, yard_case->attribution->seats[i].sensor);
    if (count == 0)
        return WH_OK;
    return wh_store_past(store, sensors, count, &yard_case->past, &yard_case->past_count, error);
}

static wh_judge_input input_of(const wh_yard_case *yard_case, const wh_case_options *options, const wh_roster *roster,
                               const wh_sweep *sweep, int64_t after_id, const wh_attribution *attribution)
{
    return (wh_judge_input){.roster = roster,
                            .unit = yard_case->unit->name,
                            .sweep = sweep,
                            .after_id = after_id,
                            .attribution = attribution,
                            .past = yard_case->past,
                            .past_count = yard_case->past_count,
                            .repaired_us = yard_case->repaired_us,
                            .thresholds = options->thresholds,
                            .site = options->site,
                            .has_ambient = options->has_ambient,
                            .ambient_c = options->ambient_c,
                            .pressure_unit = options->pressure_unit,
                            .temperature_unit = options->temperature_unit};
}

static bool walked(const wh_sweep *sweep, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (sweep->events[i].kind == WH_EVENT_STAND || sweep->events[i].kind == WH_EVENT_HEARD)
            return true;
    return false;
}

/* The newest sweep round the unit that is older than the one judged; *out stays NULL when there is none. */
static wh_status load_sweep_before(wh_store *store, const wh_yard_case *yard_case, wh_sweep **out, wh_error *error)
{
    wh_sweep_head *heads = NULL;
    size_t count = 0;
    const wh_sweep_filter filter = {.unit = yard_case->unit->name};
    wh_status status = wh_store_sweep_list(store, &filter, &heads, &count, error);
    for (size_t i = 0; status == WH_OK && i < count; i++) {
        if (heads[i].id < yard_case->sweep->id) {
            status = wh_store_sweep_load(store, heads[i].id, out, error);
            break;
        }
    }
    free(heads);
    return status;
}

/* The last event at which something was heard: the record counts as it was then. What comes after may come after the record was
 * mended: the receiver that begins again, another unit's mark. */
static int64_t last_heard(const wh_sweep *sweep)
{
    for (size_t i = sweep->event_count; i-- > 0;)
        if (sweep->events[i].kind == WH_EVENT_HEARD)
            return sweep->events[i].id;
    return 0;
}

static wh_status load_earlier(wh_store *store, wh_yard_case *yard_case, const wh_case_options *options, wh_error *error)
{
    const wh_sweep *sweep = yard_case->sweep;
    size_t mark = 0;
    while (mark < sweep->event_count && sweep->events[mark].id < yard_case->after_id)
        mark++;
    wh_status status = WH_OK;
    if (walked(sweep, mark)) {
        yard_case->earlier = copy_beginning(sweep, mark);
        if (!yard_case->earlier)
            return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    } else {
        status = load_sweep_before(store, yard_case, &yard_case->earlier, error);
    }
    if (status != WH_OK || !yard_case->earlier)
        return status;
    const wh_sweep *earlier = yard_case->earlier;
    status = wh_store_roster_load_at(store, last_heard(earlier), &yard_case->earlier_roster, error);
    if (status == WH_OK)
        status = attribute(yard_case->earlier_roster, yard_case->unit->name, options, earlier, 0,
                           &yard_case->earlier_attribution, error);
    if (status != WH_OK)
        return status;
    const wh_judge_input before =
        input_of(yard_case, options, yard_case->earlier_roster, earlier, 0, yard_case->earlier_attribution);
    const wh_judge_input after =
        input_of(yard_case, options, yard_case->roster, sweep, yard_case->after_id, yard_case->attribution);
    status = wh_judge(&before, &yard_case->earlier_findings, error);
    return status != WH_OK
               ? status
               : wh_verify(yard_case->earlier_findings, &after, yard_case->findings, &yard_case->verification, error);
}

static wh_status load(wh_store *store, const char *unit, const wh_case_options *options, wh_yard_case *yard_case,
                      wh_error *error)
{
    wh_status status = wh_store_roster_load(store, &yard_case->roster, error);
    if (status != WH_OK)
        return status;
    yard_case->unit = wh_roster_find(yard_case->roster, unit);
    if (!yard_case->unit)
        return no_such_unit(yard_case->roster, unit, error);
    if ((status = load_sweep(store, yard_case, options->sweep, error)) != WH_OK)
        return status;
    yard_case->after_id = options->whole ? 0 : wh_sweep_repaired(yard_case->sweep, unit);
    status = attribute(yard_case->roster, unit, options, yard_case->sweep, yard_case->after_id, &yard_case->attribution,
                       error);
    if (status == WH_OK)
        status = load_past(store, yard_case, error);
    if (status == WH_OK)
        status = wh_store_last_repair(store, unit, &yard_case->repaired_us, error);
    if (status != WH_OK)
        return status;
    const wh_judge_input input =
        input_of(yard_case, options, yard_case->roster, yard_case->sweep, yard_case->after_id, yard_case->attribution);
    status = wh_judge(&input, &yard_case->findings, error);
    if (status == WH_OK && !(yard_case->changes = calloc(1, sizeof *yard_case->changes)))
        status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK)
        status = wh_changes_of(yard_case->roster, unit, yard_case->attribution, options->thresholds->sure_odds,
                               yard_case->changes, error);
    if (status == WH_OK && yard_case->after_id > 0)
        status = load_earlier(store, yard_case, options, error);
    return status;
}

wh_status wh_yard_case_load(wh_store *store, const char *unit, const wh_case_options *options, wh_yard_case **out,
                            wh_error *error)
{
    *out = NULL;
    wh_yard_case *yard_case = calloc(1, sizeof *yard_case);
    if (!yard_case)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    const wh_status status = load(store, unit, options, yard_case, error);
    if (status != WH_OK)
        wh_yard_case_free(&yard_case);
    *out = yard_case;
    return status;
}

void wh_yard_case_free(wh_yard_case **yard_case)
{
    wh_yard_case *gone = *yard_case;
    if (!gone)
        return;
    wh_findings_free(&gone->findings);
    wh_findings_free(&gone->earlier_findings);
    wh_attribution_free(&gone->attribution);
    wh_attribution_free(&gone->earlier_attribution);
    wh_sweep_free(&gone->sweep);
    wh_sweep_free(&gone->earlier);
    wh_verification_free(&gone->verification);
    free(gone->changes);
    free(gone->past);
    wh_roster_destroy(&gone->roster);
    wh_roster_destroy(&gone->earlier_roster);
    free(gone);
    *yard_case = NULL;
}
