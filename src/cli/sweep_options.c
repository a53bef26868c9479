#include "sweep_options.h"

#include "yard_store.h"

#include <math.h>
#include <string.h>

enum {
    OPT_LIVE = WH_OPT_OWN,
    OPT_FROM = OPT_LIVE + WH_LIVE_OPTION_COUNT,
    OPT_STEPS,
    OPT_VERIFY,
    OPT_GO_ON,
    OPT_NEW,
    OPT_LIST,
    OPT_WHO,
    OPT_KEEP_ALL,
    OPT_PLAIN,
    OPT_BOARD,
    OPT_ADDRESS,
    OPT_PORT,
    OPT_PACE,
    OPT_PAUSED,
    OPT_STORE
};

const wh_option wh_sweep_option_table[] = {
    {OPT_FROM, 0, "from", "RECORDING",
     "Hear this recording instead of a dongle; may be given again for more, in order\nof time."},
    {OPT_STEPS, 0, "steps", "FILE",
     "With --from: what the technician did, as CSV with the columns offset_s (seconds\n"
     "from the start of the first recording), action (stand, leave, woken, bind, unbind,\n"
     "repaired, end), unit, position, sensor."},
    {OPT_VERIFY, 0, "verify", NULL, "The repair is done: sweep the unit again and compare with before."},
    {OPT_GO_ON, 0, "go-on", NULL, "Take up the unfinished sweep without asking."},
    {OPT_NEW, 0, "new", NULL, "Begin a new sweep without asking."},
    {OPT_LIST, 0, "list", NULL, "Show the sweeps there are, all or those round UNIT, and do nothing else."},
    {OPT_WHO, 0, "who", "NAME", "Who sweeps, for the work sheet."},
    {OPT_KEEP_ALL, 0, "keep-all", NULL, "Also keep what other people's sensors say. Default: only the roster's own."},
    {OPT_PLAIN, 0, "plain", NULL, "Lines instead of a board that fills the terminal."},
    {OPT_BOARD, 0, "board", NULL, "A board in the browser of this computer; its address is printed."},
    {OPT_PORT, 0, "port", "NUMBER", "Of the board in the browser. Default: any free one."},
    {OPT_ADDRESS, 0, "address", "ADDRESS",
     "Show the board to others, too: an address of this computer in figures, or 0.0.0.0\n"
     "for all it has. Whoever gets the printed address may then see and do everything.\n"
     "Default: this computer alone."},
    {OPT_PACE, 0, "pace", "FACTOR",
     "With --from and a board: seconds of the recording a second. Default 1; 0: as fast\nas it goes."},
    {OPT_PAUSED, 0, "paused", NULL, "With --from and a board: begin paused; the page plays it."},
    WH_LIVE_OPTION_ROWS(OPT_LIVE, "Where to listen. Default: where the units' sensors send, by the roster."),
    {WH_OPT_UNITS, 'u', "units", "UNIT", "Pressure in kPa (default), bar or psi."},
    {WH_OPT_TEMPERATURE, 0, "temperature", "UNIT", "Temperature in C (default) or F."},
    {WH_OPT_SITE_PRESSURE, 0, "site-pressure", "PRESSURE", "Air pressure at the yard. Default 101.325 kPa."},
    {WH_OPT_ALTITUDE, 0, "altitude", "HEIGHT", "Height of the yard, in place of the air pressure."},
    {WH_OPT_DESCRIPTORS, 'd', "descriptors", "PLACE", "A descriptor file, or a folder of them, to search first."},
    {WH_OPT_ONLY, 0, "only", "NAME", "Use this descriptor alone; may be given again for more."},
    {WH_OPT_MINIMUM, 0, "minimum", "CONFIDENCE", "Leave out readings less certain than this. Default 0.5."},
    {WH_OPT_THREADS, 0, "threads", "COUNT", "Worker threads. Changes no result."},
    {WH_OPT_COLOR, 0, "color", "WHEN", "auto (default: on a terminal, unless NO_COLOR is set), always or never."},
    WH_STORE_OPTION_ROW(OPT_STORE),
    {WH_OPT_QUIET, 'q', "quiet", NULL, "No notes, no bell: errors only on standard error."},
    {0},
};

static int take_recording(wh_sweep_options *options, wh_args *args, const char *value)
{
    if (options->recording_count == WH_SWEEP_RECORDINGS_MAX)
        return wh_args_complain(args, "--from: no more than %d times", WH_SWEEP_RECORDINGS_MAX);
    options->recordings[options->recording_count++] = value;
    return 0;
}

static int take(wh_sweep_options *options, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPT_FROM: return take_recording(options, args, value);
    case OPT_STEPS: options->steps = value; return 0;
    case OPT_VERIFY: options->verify = true; return 0;
    case OPT_GO_ON: options->go_on = true; return 0;
    case OPT_NEW: options->anew = true; return 0;
    case OPT_LIST: options->list = true; return 0;
    case OPT_WHO: options->who = value; return 0;
    case OPT_KEEP_ALL: options->keep_strangers = true; return 0;
    case OPT_PLAIN: options->plain = true; return 0;
    case OPT_BOARD: options->board = true; return 0;
    case OPT_ADDRESS: options->address = value; return 0;
    case OPT_PORT: return wh_take_number(args, "--port", value, NULL, 0, 65535, &options->port);
    case OPT_PACE: return wh_take_number(args, "--pace", value, NULL, 0, 1000, &options->pace);
    case OPT_PAUSED: options->paused = true; return 0;
    case OPT_STORE: options->store = value; return 0;
    default: break;
    }
    const int status = wh_live_options_take(&options->live, &options->run.source, args, id - OPT_LIVE, value);
    return status >= 0 ? status : wh_run_options_take(&options->run, args, id, value);
}

static int check(wh_sweep_options *options, wh_args *args, bool without_unit)
{
    if (options->list)
        return options->unit_count <= 1 ? 0 : wh_args_complain(args, "--list: name one unit, or none");
    if (options->unit_count == 0 && !without_unit)
        return wh_args_complain(args, "name the unit to sweep; several for a whole yard");
    if (options->verify && (options->anew || options->go_on))
        return wh_args_complain(args, "--verify: leave --new and --go-on out");
    if (options->anew && options->go_on)
        return wh_args_complain(args, "choose one of --new and --go-on");
    if (options->steps && options->recording_count == 0)
        return wh_args_complain(args, "--steps goes with --from: live, keys say what is done");
    if (options->recording_count > 0 && (options->live.dongle || options->live.network))
        return wh_args_complain(args, "choose one of --from, --dongle and --network");
    for (size_t i = 0; i < options->unit_count; i++)
        for (size_t k = 0; k < i; k++)
            if (strcmp(options->units[i], options->units[k]) == 0)
                return wh_args_complain(args, "unit '%s' is named twice", options->units[i]);
    return 0;
}

int wh_sweep_options_read(wh_args *args, wh_sweep_options *options, bool without_unit)
{
    *options = (wh_sweep_options){.pace = 1.0};
    const int bad = wh_settings_start(&options->settings);
    if (bad != 0)
        return bad;
    wh_run_options_defaults(&options->run);
    wh_run_options_settings(&options->run, &options->settings);
    wh_live_options_settings(&options->live, &options->run.source, &options->settings);
    options->run.source.centre_hz = NAN; /* what is on record of the units comes before the usual frequency */
    options->thresholds = options->settings.thresholds;
    options->who = options->settings.who[0] ? options->settings.who : NULL;
    const char *value;
    int id;
    while ((id = wh_args_next(args, &value)) > 0) {
        const int status = take(options, args, id, value);
        if (status != 0)
            return status;
    }
    options->helped = id < 0;
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) > WH_SWEEP_UNITS_MAX)
        return wh_args_complain(args, "no more than %d units at a time", WH_SWEEP_UNITS_MAX);
    for (int i = 0; i < wh_args_operand_count(args); i++)
        options->units[options->unit_count++] = wh_args_operand(args, i);
    options->insight = (wh_insight_options){.thresholds = &options->thresholds,
                                            .site = options->run.site,
                                            .pressure_unit = options->run.style.pressure,
                                            .temperature_unit = options->run.style.temperature};
    const int status = check(options, args, without_unit);
    options->own_band = isnan(options->run.source.centre_hz);
    return status == 0 && options->recording_count == 0
               ? wh_live_options_choose(&options->live, &options->run.source, args)
               : status;
}
