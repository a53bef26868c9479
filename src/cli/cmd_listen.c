#include "live_options.h"
#include "session.h"

#include <string.h>

enum { OPT_LIVE = WH_OPT_OWN, OPT_DURATION = OPT_LIVE + WH_LIVE_OPTION_COUNT };

static const wh_option options[] = {
    WH_LIVE_OPTION_ROWS(OPT_LIVE, "Where to listen. Default 433.92 MHz; 315 MHz is the other usual band."),
    {OPT_DURATION, 't', "duration", "TIME", "End after this time, e.g. 90 s or 10 min. Default: at Ctrl-C."},
    WH_RUN_OPTION_ROWS,
    {0},
};

typedef struct listen_options {
    wh_run_options run;
    wh_live_options live;
} listen_options;

static int take_duration(listen_options *listen, wh_args *args, const char *value)
{
    double minutes;
    if (!wh_number_parse(value, "min", &minutes) || !strstr(value, "min"))
        return wh_take_number(args, "--duration", value, "s", 0.001, 1e7, &listen->run.duration_s);
    listen->run.duration_s = 60.0 * minutes;
    return minutes > 0 && minutes < 1e5 ? 0 : wh_args_complain(args, "--duration: '%s' is out of range", value);
}

static int take(listen_options *listen, wh_args *args, int id, const char *value)
{
    if (id == OPT_DURATION)
        return take_duration(listen, args, value);
    const int status = wh_live_options_take(&listen->live, &listen->run.source, args, id - OPT_LIVE, value);
    return status >= 0 ? status : wh_run_options_take(&listen->run, args, id, value);
}

static int listen_now(const wh_run_options *run)
{
    wh_session *session;
    const int status = wh_session_open(run, &session);
    if (status != 0)
        return status;
    wh_stop_install();
    wh_session_input(session, &run->source);
    const int worst = wh_session_close(&session);
    if (worst == WH_EXIT_NO_INPUT)
        return WH_EXIT_UNAVAILABLE; /* what is missing is a device or a peer */
    /* Without --duration Ctrl-C is how listening ends, not an interruption. */
    return worst == 0 && wh_stop_asked() && run->duration_s > 0 ? WH_EXIT_INTERRUPTED : worst;
}

static int run_listen(wh_args *args)
{
    listen_options listen = {0};
    wh_settings settings;
    int id, status = wh_settings_start(&settings);
    if (status != 0)
        return status;
    wh_run_options_defaults(&listen.run);
    wh_run_options_settings(&listen.run, &settings);
    wh_live_options_settings(&listen.live, &listen.run.source, &settings);
    listen.run.live = true;
    const char *value;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&listen, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if ((status = wh_run_options_check(&listen.run, args)) != 0 ||
        (status = wh_live_options_choose(&listen.live, &listen.run.source, args)) != 0)
        return status;
    if (wh_args_operand_count(args) > 0)
        return wh_args_complain(args, "'%s': takes options only; recordings are for 'wheelhark decode'",
                                wh_args_operand(args, 0));
    return listen_now(&listen.run);
}

const wh_command wh_cmd_listen = {
    .name = "listen",
    .summary = "get readings from the sensors around you as they are heard",
    .notes =
        "Without options: the RTL-SDR dongle that is plugged in, on 433.92 MHz. Sensors of parked vehicles may stay\n"
        "silent until they are woken: what is not heard is not therefore missing. 'wheelhark doctor' finds out why\n"
        "a dongle does not work.\n\n"
        "Other people's vehicles carry sensors too: keep only what belongs to your own. Local law decides what may\n"
        "be received.\n\n"
        "Exit status: 0 done, 64 wrong use, 65 bad descriptor, 69 no dongle or no peer, 73 and 74 output failed,\n"
        "75 dongle in use (try again), 77 no permission, 78 no descriptors, 130 interrupted before --duration.",
    .options = options,
    .run = run_listen,
};
