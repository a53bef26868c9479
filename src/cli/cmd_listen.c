#include "live_options.h"
#include "recorder.h"
#include "session.h"

#include <string.h>

enum {
    OPT_LIVE = WH_OPT_OWN,
    OPT_DURATION = OPT_LIVE + WH_LIVE_OPTION_COUNT,
    OPT_RECORD,
    OPT_EVERYTHING,
    OPT_PRE_TRIGGER
};

static const wh_option options[] = {
    WH_LIVE_OPTION_ROWS(OPT_LIVE, "Where to listen. Default 433.92 MHz; 315 MHz is the other usual band."),
    {OPT_DURATION, 't', "duration", "TIME", "End after this time, e.g. 90 s or 10 min. Default: at Ctrl-C."},
    {OPT_RECORD, 'r', "record", "NAME",
     "Also record the bursts, with what came just before them, as NAME.sigmf-data and\n"
     "NAME.sigmf-meta. Nothing is overwritten."},
    {OPT_EVERYTHING, 0, "everything", NULL, "Record everything, not only bursts: 2 MB a second or more."},
    {OPT_PRE_TRIGGER, 0, "pre-trigger", "TIME", "Record this much before a burst. Default 0.5 s; 0.3 s to 2 s."},
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
    switch (id) {
    case OPT_DURATION: return take_duration(listen, args, value);
    case OPT_RECORD: listen->run.record = value; return 0;
    case OPT_EVERYTHING: listen->run.record_everything = true; return 0;
    case OPT_PRE_TRIGGER:
        return wh_take_number(args, "--pre-trigger", value, "s", WH_RECORDER_BEFORE_LEAST_S, WH_RECORDER_BEFORE_MOST_S,
                              &listen->run.record_before_s);
    default: break;
    }
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
    listen.run.record_before_s = WH_RECORDER_BEFORE_S;
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
    if (!listen.run.record && listen.run.record_everything)
        return wh_args_complain(args, "--everything says what to record: --record NAME is missing");
    return listen_now(&listen.run);
}

const wh_command wh_cmd_listen = {
    .name = "listen",
    .summary = "get readings from the sensors around you as they are heard",
    .notes =
        "Without options: the RTL-SDR dongle that is plugged in, on 433.92 MHz. Sensors of parked vehicles may stay\n"
        "silent until they are woken: what is not heard is not therefore missing. 'wheelhark doctor' finds out why\n"
        "a dongle does not work.\n\n"
        "--record keeps what was heard for 'wheelhark decode' and 'wheelhark study': a SigMF pair with gain, ppm, "
        "lost\n"
        "samples, a hash, and one annotation per burst. Ctrl-C ends it whole.\n\n"
        "Other people's vehicles carry sensors too: keep only what belongs to your own. Local law decides what may\n"
        "be received.\n\n"
        "Exit status: 0 done, 64 wrong use, 65 bad descriptor, 69 no dongle or no peer, 73 and 74 output failed,\n"
        "75 dongle in use (try again), 77 no permission, 78 no descriptors, 130 interrupted before --duration.",
    .options = options,
    .run = run_listen,
};
