/* wheelhark roster accept: what was heard becomes what is on record. */
#include "change_report.h"
#include "roster_actions.h"
#include "yard_view.h"

#include <stdio.h>

static int keep_changes(const wh_roster_options *options, const wh_yard_case *yard_case)
{
    unsigned accepted, held;
    wh_error error;
    wh_text text = {0};
    wh_roster *roster;
    if (wh_roster_open(options, &roster, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_status status = wh_changes_accept(roster, yard_case->unit->name, yard_case->changes, options->unconfirmed,
                                         &accepted, &held, &error);
    if (status == WH_OK && accepted > 0)
        status = wh_roster_keep(options, roster, &error);
    wh_roster_destroy(&roster);
    if (status != WH_OK)
        return wh_exit_for(&error);
    wh_changes_lines(&text, WH_TABLE_TEXT, yard_case->unit->name, yard_case->changes);
    if (text.data && !text.failed)
        fputs(text.data, stdout);
    wh_text_free(&text);
    printf("%u put on record", accepted);
    if (held > 0)
        printf(", %u left out: heard once only; hear %s again, or add --unconfirmed", held, held == 1 ? "it" : "them");
    fputs("\n", stdout);
    return held > 0 ? WH_EXIT_FINDINGS : WH_EXIT_DONE;
}

int wh_roster_accept(const wh_roster_options *options, const char *unit)
{
    wh_yard_view view;
    wh_yard_case *yard_case;
    wh_error error;
    wh_yard_view_defaults(&view);
    view.thresholds = options->thresholds;
    view.store = options->store;
    if (wh_yard_view_load(&view, unit, &yard_case, &error) != WH_OK)
        return wh_exit_for(&error);
    const int status = keep_changes(options, yard_case);
    wh_yard_case_free(&yard_case);
    return status;
}
