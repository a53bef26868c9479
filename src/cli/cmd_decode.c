#include "session.h"

enum { OPT_CENTRE = WH_OPT_OWN, OPT_FORMAT };

static const wh_option options[] = {
    WH_RUN_OPTION_ROWS,
    {WH_OPT_EXPECT, 0, "expect", "FILE",
     "Compare with the readings in FILE (JSON Lines; only keys given there count)\n"
     "and end with status 2 when they differ. An empty file expects silence."},
    {WH_OPT_SAMPLE_RATE, 0, "sample-rate", "RATE", "Of recordings that do not say it, e.g. 2.4M."},
    {OPT_CENTRE, 0, "centre", "FREQUENCY", "Of recordings that do not say it, e.g. 433.92M."},
    {OPT_FORMAT, 0, "format", "FORMAT", "Of recordings that do not say it: cu8, ci8, ci16 or cf32."},
    {0},
};

static int take(wh_run_options *run, wh_args *args, int id, const char *value)
{
    switch (id) {
    case OPT_CENTRE: return wh_take_number(args, "--centre", value, "Hz", 1e6, 6e9, &run->source.centre_hz);
    case OPT_FORMAT:
        run->source.has_format = wh_iq_format_parse(value, &run->source.format);
        return run->source.has_format ? 0
                                      : wh_args_complain(args, "--format: '%s' is not cu8, ci8, ci16 or cf32", value);
    default: return wh_run_options_take(run, args, id, value);
    }
}

static int decode_all(const wh_run_options *run, const wh_args *args)
{
    wh_session *session;
    const int status = wh_session_open(run, &session);
    if (status != 0)
        return status;
    wh_stop_install();
    bool more = true;
    for (int i = 0; more && i < wh_args_operand_count(args); i++) {
        wh_source_options source = run->source;
        source.target = wh_args_operand(args, i);
        more = wh_session_input(session, &source);
    }
    const int worst = wh_session_close(&session);
    return wh_stop_asked() ? WH_EXIT_INTERRUPTED : worst;
}

static int run_decode(wh_args *args)
{
    wh_run_options run;
    wh_settings settings;
    int id, status = wh_settings_start(&settings);
    if (status != 0)
        return status;
    wh_run_options_defaults(&run);
    wh_run_options_settings(&run, &settings);
    const char *value;
    while ((id = wh_args_next(args, &value)) > 0) {
        if ((status = take(&run, args, id, value)) != 0)
            return status;
    }
    if (id < 0)
        return wh_args_status(args);
    if ((status = wh_run_options_check(&run, args)) != 0)
        return status;
    if (wh_args_operand_count(args) == 0)
        return wh_args_complain(args, "name at least one recording, or - for standard input");
    run.style.name_sources = wh_args_operand_count(args) > 1;
    return decode_all(&run, args);
}

const wh_command wh_cmd_decode = {
    .name = "decode",
    .operands = "FILE...",
    .summary = "get readings from recordings of radio samples",
    .notes = "FILE is a SigMF recording (either of its files), a WAV file with two channels, bare samples, or - for\n"
             "standard input. Equal input gives equal output, byte for byte, whatever --threads and --block are.\n\n"
             "Exit status: 0 done, 2 --expect not met, 64 wrong use, 65 damaged input or bad descriptor (what was\n"
             "readable is decoded), 66 no such file, 73 and 74 output failed, 78 no descriptors, 130 interrupted.\n\n"
             "Example: wheelhark decode --units bar yard.sigmf-meta",
    .options = options,
    .run = run_decode,
};
