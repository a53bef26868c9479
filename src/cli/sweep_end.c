#include "sweep_end.h"

#include "findings_views.h"
#include "history_report.h"

#include <stdlib.h>

/* Names of sensors, borrowed. */
typedef struct names {
    const char **items;
    size_t count;
} names;

static void add(names *list, const char *name)
{
    if (name[0])
        list->items[list->count++] = name;
}

static void add_seats(names *list, const wh_attribution *attribution)
{
    for (unsigned i = 0; i < attribution->seat_count; i++) {
        const wh_seat *seat = &attribution->seats[i];
        add(list, seat->sensor);
        if (seat->state == WH_SEAT_UNSURE)
            add(list, seat->runner_up);
    }
}

void wh_sweep_tidy(wh_sweep_walk *walk)
{
    const wh_sweep *sweep = walk->sweep;
    if (walk->options->keep_strangers)
        return;
    /* Of each unit the walk before and the one after the repair mark. */
    const size_t walks = 2 * sweep->unit_count;
    wh_error error;
    wh_attribution **all = calloc(walks, sizeof(wh_attribution *));
    names keep = {.items = calloc(2 * walks * WH_WHEELS_MAX, sizeof *keep.items)};
    wh_status status = all && keep.items ? WH_OK : wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
    for (size_t i = 0; status == WH_OK && i < walks; i++) {
        const char *unit = sweep->units[i / 2];
        const int64_t after = i % 2 ? wh_sweep_repaired(sweep, unit) : 0;
        status = wh_attribute(walk->roster, sweep, unit, after, &all[i], &error);
        if (status == WH_OK)
            add_seats(&keep, all[i]);
    }
    if (status == WH_OK)
        status = wh_store_forget_strangers(walk->store, sweep->id, keep.items, keep.count, NULL, &error);
    if (status != WH_OK)
        wh_exit_for(&error);
    for (size_t i = 0; all && i < walks; i++)
        wh_attribution_free(&all[i]);
    free(all);
    free(keep.items);
}

/* What was found, as `wheelhark findings` shows it. */
int wh_sweep_summary(const wh_sweep_options *options)
{
    int worst = 0;
    wh_yard_view view;
    wh_yard_view_defaults(&view);
    wh_yard_view_settings(&view, &options->settings);
    view.store = options->store;
    view.options.site = options->run.site;
    view.options.pressure_unit = options->run.style.pressure;
    view.options.temperature_unit = options->run.style.temperature;
    for (size_t i = 0; i < options->unit_count; i++) {
        wh_yard_case *yard_case;
        wh_error error;
        if (wh_yard_view_load(&view, options->units[i], &yard_case, &error) != WH_OK)
            return wh_exit_for(&error);
        wh_text text = {0};
        wh_text_print(&text, "\n%s\n\n", yard_case->unit->name);
        wh_view_findings(&text, &view, yard_case, WH_VIEW_TEXT);
        wh_text_print(&text, "\nThe work sheet: wheelhark sheet \"%s\"\n", options->units[i]);
        const int status = wh_yard_view_write(&view, &text);
        worst = status > worst ? status : worst;
        if (worst == 0 && yard_case->findings->count > 0)
            worst = WH_EXIT_FINDINGS;
        wh_text_free(&text);
        wh_yard_case_free(&yard_case);
    }
    return worst;
}

int wh_sweep_list_show(const wh_sweep_options *options)
{
    wh_error error;
    wh_store *store;
    wh_sweep_head *heads = NULL;
    size_t count = 0;
    wh_status status = wh_cli_store_open(options->store, WH_STORE_READ, &store, &error);
    if (status != WH_OK)
        return wh_exit_for(&error);
    const wh_sweep_filter filter = {.unit = options->unit_count ? options->units[0] : NULL};
    status = wh_store_sweep_list(store, &filter, &heads, &count, &error);
    wh_store_close(&store);
    wh_text text = {0};
    const wh_yard_view view = {0};
    const wh_table_style style = {.format = WH_TABLE_TEXT};
    int worst = 0;
    if (status == WH_OK) {
        wh_history_sweeps(&text, &style, heads, count);
        worst = wh_yard_view_write(&view, &text);
    } else {
        worst = wh_exit_for(&error);
    }
    wh_text_free(&text);
    free(heads);
    return worst;
}
