/* wheelhark sheet: the work sheet of one unit, for printing. */
#include "settings.h"
#include "sheet_now.h"
#include "yard_view.h"

#include <stdio.h>
#include <string.h>

enum { OPT_HTML = WH_VIEW_OWN };

static const wh_option options[] = {
    {OPT_HTML, 0, "html", NULL, "Write a page for a browser to print, with the unit drawn from above. Default: text."},
    WH_YARD_VIEW_ROWS,
    {0},
};

static int print_sheet(const wh_yard_view *view, const char *unit, bool html)
{
    wh_yard_case *yard_case;
    wh_error error;
    if (wh_yard_view_load(view, unit, &yard_case, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_text text = {0};
    wh_case_options shown = view->options;
    shown.thresholds = &view->thresholds;
    wh_sheet_now(&text, yard_case, &shown, html);
    const int status = wh_yard_view_write(view, &text);
    wh_text_free(&text);
    wh_yard_case_free(&yard_case);
    return status;
}

static int run(wh_args *args)
{
    wh_yard_view view;
    wh_settings settings;
    int id, status = wh_settings_start(&settings);
    if (status != 0)
        return status;
    wh_yard_view_defaults(&view);
    wh_yard_view_settings(&view, &settings);
    bool html = false;
    const char *value;
    while ((id = wh_args_next(args, &value)) > 0) {
        if (id == OPT_HTML)
            html = true;
        else if ((status = wh_yard_view_take(&view, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) != 1)
        return wh_args_complain(args, "name the unit whose sheet to print");
    return print_sheet(&view, wh_args_operand(args, 0), html);
}

const wh_command wh_cmd_sheet = {
    .name = "sheet",
    .operands = "UNIT",
    .summary = "print the work sheet of a unit that was swept",
    .notes =
        "The sheet says what was heard at which wheel, what to do about it, which IDs to enter with the vehicle's own\n"
        "tool, and what was not verified; with boxes to tick and lines to write on. Printing it again gives the same\n"
        "bytes. Text fits 80 columns ('lp' prints it); with --html open the file in a browser and print.\n\n"
        "Exit status: 0 done, 64 wrong use, 66 no such unit or sweep, 73 and 74 output failed, 78 no store.\n\n"
        "Example: wheelhark sheet K-17 --html --output K-17.html",
    .options = options,
    .run = run,
};
