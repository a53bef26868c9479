/* wheelhark sweep: the walk round a unit or a yard. */
#include "sweep_begin.h"
#include "sweep_end.h"
#include "web_session.h"

static int run(wh_args *args)
{
    wh_sweep_options options;
    const int status = wh_sweep_options_read(args, &options, false);
    if (status != 0 || options.helped)
        return status;
    return options.list    ? wh_sweep_list_show(&options)
           : options.board ? wh_web_serve(&options)
                           : wh_sweep_once(&options);
}

const wh_command wh_cmd_sweep = {
    .name = "sweep",
    .operands = "UNIT...",
    .summary = "walk round a unit and hear which sensor is at which wheel",
    .notes =
        "With the dongle plugged in and no other option, it listens where the unit's sensors send and leads you from\n"
        "wheel to wheel. Enter or space: next wheel; Backspace: back; w: the sensor was woken; a: accept the best "
        "guess;\n"
        "u: undo that; n: next unit; r, r: the repair is done; e, e: finish here; q: pause. Everything heard is on "
        "the\n"
        "disk at once: after a pause, a pulled-out dongle or an empty battery the same command goes on.\n\n"
        "Sensors of parked vehicles sleep until they are woken (low-frequency exciter, or a change of pressure); this\n"
        "program sends nothing. What was not heard is not therefore missing. Sensors that are not on the roster are "
        "not\n"
        "kept, unless they may be the ones at your wheels.\n\n"
        "Exit status: 0 done, 1 done and there are findings, 64 wrong use, 65 damaged input, 66 no such unit or file,\n"
        "69 no dongle, 73 and 74 storing failed, 75 dongle in use, 77 no permission, 78 no descriptors, 130 "
        "interrupted.\n\n"
        "Examples: wheelhark sweep K-17\n"
        "          wheelhark sweep K-17 --from walk.sigmf-meta --steps walk.csv",
    .options = wh_sweep_option_table,
    .run = run,
};
