/* wheelhark findings: what is wrong at which wheel of a unit, or the yard at a glance. */
#include "finding_report.h"
#include "findings_views.h"
#include "settings.h"

#include <string.h>

enum { OPT_JSON = WH_VIEW_OWN, OPT_CSV, OPT_CHANGES, OPT_HISTORY, OPT_TREND, OPT_RULES };

static const wh_option options[] = {
    {OPT_JSON, 'j', "json", NULL, "Write JSON Lines, kPa and degrees Celsius."},
    {OPT_CSV, 0, "csv", NULL, "Write CSV."},
    {OPT_CHANGES, 0, "changes", NULL,
     "The IDs to enter with the vehicle's own tool, old and new, instead of the findings."},
    {OPT_HISTORY, 0, "history", NULL, "All sweeps round the unit, and what its sensors said, instead of the findings."},
    {OPT_TREND, 0, "trend", "POSITION", "The pressure over time at this wheel as a drawing (SVG)."},
    {OPT_RULES, 0, "rules", NULL, "The thresholds judged by, each with where it is from."},
    WH_YARD_VIEW_ROWS,
    {0},
};

typedef struct findings_choice {
    wh_yard_view view;
    wh_view_format format;
    int what; /* 0, OPT_CHANGES, OPT_HISTORY, OPT_TREND or OPT_RULES */
    wh_position trend;
} findings_choice;

static int take_format(findings_choice *choice, wh_args *args, wh_view_format format)
{
    if (choice->format != WH_VIEW_TEXT && choice->format != format)
        return wh_args_complain(args, "choose one of --json and --csv");
    choice->format = format;
    return 0;
}

static int take(findings_choice *choice, wh_args *args, int id, const char *value)
{
    if (id == OPT_JSON || id == OPT_CSV)
        return take_format(choice, args, id == OPT_JSON ? WH_VIEW_JSON : WH_VIEW_CSV);
    if (id < WH_VIEW_OWN)
        return wh_yard_view_take(&choice->view, args, id, value);
    if (choice->what != 0 && choice->what != id)
        return wh_args_complain(args, "choose one of --changes, --history, --trend and --rules");
    choice->what = id;
    if (id == OPT_TREND && !wh_position_parse(value, &choice->trend))
        return wh_args_complain(args, "--trend: '%s' is no wheel position; write e.g. 3LO", value);
    return 0;
}

static int show(const findings_choice *choice, const char *unit)
{
    wh_yard_case *yard_case;
    wh_error error;
    if (wh_yard_view_load(&choice->view, unit, &yard_case, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_text text = {0};
    wh_status status = WH_OK;
    wh_case_options shown = choice->view.options;
    shown.thresholds = &choice->view.thresholds;
    switch (choice->what) {
    case OPT_CHANGES: wh_view_changes(&text, &choice->view, yard_case, choice->format); break;
    case OPT_HISTORY: status = wh_view_history(&text, &choice->view, yard_case, choice->format, &error); break;
    case OPT_TREND: status = wh_view_trend(&text, &shown, yard_case, choice->trend, &error); break;
    default: wh_view_findings(&text, &choice->view, yard_case, choice->format);
    }
    int worst = status == WH_OK ? wh_yard_view_write(&choice->view, &text) : wh_exit_for(&error);
    if (worst == 0 && choice->what == 0 && yard_case->findings->count > 0)
        worst = WH_EXIT_FINDINGS;
    wh_text_free(&text);
    wh_yard_case_free(&yard_case);
    return worst;
}

/* What needs no single unit. */
static int show_all(const findings_choice *choice, wh_args *args)
{
    wh_text text = {0};
    wh_error error;
    bool found = false;
    wh_status status = WH_OK;
    if (choice->what == OPT_RULES)
        wh_view_rules(&text, &choice->view.thresholds, choice->format);
    else if (choice->what == 0)
        status = wh_view_yard(&text, &choice->view, choice->format, &found, &error);
    else
        return wh_args_complain(args, "name the unit");
    const int worst = status == WH_OK ? wh_yard_view_write(&choice->view, &text) : wh_exit_for(&error);
    wh_text_free(&text);
    return worst == 0 && found ? WH_EXIT_FINDINGS : worst;
}

static int run(wh_args *args)
{
    findings_choice choice = {0};
    wh_settings settings;
    int id, status = wh_settings_start(&settings);
    if (status != 0)
        return status;
    wh_yard_view_defaults(&choice.view);
    wh_yard_view_settings(&choice.view, &settings);
    const char *value;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&choice, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) > 1)
        return wh_args_complain(args, "name one unit, or none for all of them");
    if (choice.what == OPT_TREND && choice.format != WH_VIEW_TEXT)
        return wh_args_complain(args, "--trend gives a drawing: leave --json and --csv out");
    const bool one_unit = wh_args_operand_count(args) == 1 && choice.what != OPT_RULES;
    return one_unit ? show(&choice, wh_args_operand(args, 0)) : show_all(&choice, args);
}

const wh_command wh_cmd_findings = {
    .name = "findings",
    .operands = "[UNIT]",
    .summary = "what is wrong at which wheel of a unit that was swept, and what to do",
    .notes =
        "Without UNIT: all units of the roster at a glance. After a repair mark only what was heard since counts, and\n"
        "every earlier finding is shown as mended or still open. What is silent is not therefore missing, and nothing\n"
        "here proves that a tire is in order.\n\n"
        "Exit status: 0 nothing found, 1 there are findings, 64 wrong use, 66 no such unit or sweep, 73 and 74 output\n"
        "failed, 78 no store.\n\n"
        "Example: wheelhark findings K-17 --units psi",
    .options = options,
    .run = run,
};
