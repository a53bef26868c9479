/* wheelhark serve: the yard, and a walk, in a browser of this computer. */
#include "web_session.h"

static int run(wh_args *args)
{
    wh_sweep_options options;
    const int status = wh_sweep_options_read(args, &options, true);
    return status != 0 || options.helped ? status : wh_web_serve(&options);
}

const wh_command wh_cmd_serve = {
    .name = "serve",
    .operands = "[UNIT...]",
    .summary = "a large board in the browser: the walk round a unit, the yard, work sheets",
    .notes =
        "With units: the same walk as 'wheelhark sweep', led by keys or large buttons on a page; with --from a "
        "recording is\n"
        "heard at its own pace. Without units: what was swept. Everything the page needs is in this program; it asks\n"
        "nobody else, works without a network, and is seen on this computer alone unless --address says otherwise.\n\n"
        "Exit status as for 'wheelhark sweep'; Ctrl-C ends with 0.\n\n"
        "Examples: wheelhark serve K-17\n"
        "          wheelhark serve K-17 --from walk.sigmf-meta --pace 4",
    .options = wh_sweep_option_table,
    .run = run,
};
