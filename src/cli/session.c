#include "session.h"

#include "descriptor_choice.h"
#include "expect.h"
#include "meter.h"
#include "session_end.h"
#include "talk.h"
#include "wheelhark/receiver.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void note_report(wh_session *session, wh_status status)
{
    if (status == WH_OK || session->write_failed)
        return;
    session->write_failed = true;
    session->pipe_closed = status == WH_ERR_IO && errno == EPIPE;
    if (session->pipe_closed)
        return;
    const char *where = session->options->output ? session->options->output : "standard output";
    wh_error error;
    wh_fail(&error, status, NULL, "writing to %s failed: %s", where,
            status == WH_ERR_IO ? strerror(errno) : wh_status_name(status));
    wh_session_worsen(session, wh_exit_for(&error));
}

void wh_session_worsen(wh_session *session, int status)
{
    session->status = status > session->status ? status : session->status;
}

void wh_session_tell(wh_session *session, const char *source, const wh_error *error)
{
    wh_meter_hide(&session->meter);
    wh_session_worsen(session, wh_exit_for(error));
    note_report(session, wh_report_error(session->report, source, error));
}

/* Live lines must be seen now, not when a buffer is full. */
static void wrote(wh_session *session, wh_status status)
{
    note_report(session, status);
    if (session->options->live && status == WH_OK)
        note_report(session, wh_report_flush(session->report));
}

static void on_reading(void *context, const wh_reading *reading)
{
    wh_session *session = context;
    wh_meter_hide(&session->meter);
    session->pressures_shown |= reading->pressure_state == WH_VALUE_OK;
    session->site_mattered |= reading->pressure_state == WH_VALUE_OK && reading->from_absolute;
    wrote(session, wh_report_reading(session->report, reading));
    if (session->expect && !session->expect_status)
        session->expect_status = wh_expect_reading(session->expect, reading);
}

static void on_burst(void *context, const wh_burst *burst)
{
    wh_session *session = context;
    wh_meter_hide(&session->meter);
    wrote(session, wh_report_burst(session->report, burst));
}

static void on_attempt(void *context, const wh_attempt *attempt)
{
    wh_session *session = context;
    wh_meter_hide(&session->meter);
    wrote(session, wh_report_attempt(session->report, attempt));
}

static void on_log(void *context, wh_log_level level, const char *text)
{
    static const char *const heads[] = {"wheelhark: error: ", "wheelhark: warning: ", "wheelhark: ", "wheelhark: "};
    wh_session *session = context;
    if (level == WH_LOG_DETAIL || (session->options->quiet && level != WH_LOG_ERROR))
        return;
    wh_meter_hide(&session->meter);
    wh_talk(heads[level], text);
}

static bool color_wanted(const wh_run_options *options, FILE *out)
{
    if (strcmp(options->color, "auto") != 0)
        return strcmp(options->color, "always") == 0;
    const char *no_color = getenv("NO_COLOR"), *terminal = getenv("TERM");
    return isatty(fileno(out)) && !(no_color && no_color[0]) && !(terminal && strcmp(terminal, "dumb") == 0);
}

static int open_output(wh_session *session)
{
    const wh_run_options *options = session->options;
    wh_error error;
    session->out = stdout;
    if (options->output && strcmp(options->output, "-") != 0) {
        session->out = fopen(options->output, "wb");
        if (!session->out) {
            wh_fail(&error, WH_ERR_IO, "choose another --output", "%s: cannot be written: %s", options->output,
                    strerror(errno));
            wh_exit_for(&error);
            return WH_EXIT_CANT_CREATE;
        }
    }
    wh_report_style style = options->style;
    style.color = color_wanted(options, session->out);
    session->report = wh_report_create(&style, session->out);
    if (session->report)
        return 0;
    wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
    return wh_exit_for(&error);
}

static int open_receiver(wh_session *session)
{
    const wh_run_options *options = session->options;
    wh_error error;
    if (wh_choose_descriptors(options->descriptors, options->only, options->only_count, &session->descriptors,
                              &error) != WH_OK) {
        const int status = wh_exit_for(&error);
        const bool none_anywhere = error.status == WH_ERR_NOT_FOUND && !options->descriptors;
        return none_anywhere ? WH_EXIT_CONFIG : status;
    }
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.threads = options->threads;
    config.site = options->site;
    config.report_minimum = options->minimum;
    config.explain = options->explain;
    config.log = (wh_log){on_log, session};
    const wh_receiver_sink sink = {.context = session,
                                   .reading = on_reading,
                                   .burst = options->bursts || options->explain ? on_burst : NULL,
                                   .attempt = options->explain ? on_attempt : NULL};
    return wh_receiver_create(&config, session->descriptors, &sink, &session->receiver, &error) == WH_OK
               ? 0
               : wh_exit_for(&error);
}

int wh_session_open(const wh_run_options *options, wh_session **out)
{
    wh_error error;
    *out = NULL;
    wh_session *session = calloc(1, sizeof *session);
    if (!session) {
        wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
        return wh_exit_for(&error);
    }
    session->options = options;
    wh_meter_begin(&session->meter, !options->quiet && !options->live);
    int status = 0;
    if (options->expect && wh_expect_load(options->expect, &session->expect, &error) != WH_OK)
        status = wh_exit_for(&error);
    if (status == 0)
        status = open_receiver(session);
    if (status == 0)
        status = open_output(session);
    if (status != 0)
        wh_session_free(&session);
    *out = session;
    return status;
}

static void told_listening(wh_session *session, const wh_stream *stream)
{
    const wh_run_options *options = session->options;
    if (!options->live || options->quiet || session->listening)
        return;
    session->listening = true;
    fprintf(stderr, "wheelhark: listening to %s on %.4f MHz, %.3f million samples a second%s\n", stream->name,
            stream->centre_hz * 1e-6, stream->sample_rate_hz * 1e-6, options->duration_s > 0 ? "" : "; Ctrl-C ends");
}

/* The receiver fails for want of memory or by a mistake of ours; either way this input is over. */
static bool decoded(wh_session *session, wh_status status)
{
    if (status == WH_OK)
        return true;
    wh_error error;
    wh_fail(&error, status, NULL, "%s: decoding failed: %s", session->source_name, wh_status_name(status));
    wh_session_tell(session, session->source_name, &error);
    return false;
}

/* Samples, but no more than --duration leaves. */
static bool push(wh_session *session, const wh_source_event *event)
{
    const bool limited = session->options->duration_s > 0;
    const size_t count = limited && session->samples_left < event->count ? (size_t)session->samples_left : event->count;
    const wh_status status = wh_receiver_push(session->receiver, event->samples, count);
    if (!decoded(session, status))
        return false;
    session->samples_left -= limited ? count : 0;
    return !limited || session->samples_left > 0;
}

static bool begin_stream(wh_session *session, const wh_stream *stream)
{
    wh_error error;
    told_listening(session, stream);
    snprintf(session->source_name, sizeof session->source_name, "%s", stream->name);
    if (!session->begun && session->options->duration_s > 0)
        session->samples_left = (uint64_t)(session->options->duration_s * stream->sample_rate_hz + 0.5);
    session->begun = true;
    if (wh_receiver_begin(session->receiver, stream, &error) == WH_OK)
        return true;
    wh_session_tell(session, stream->name, &error);
    return false;
}

/* False: this input is at its end. */
static bool take_event(wh_session *session, const wh_source_event *event)
{
    const wh_run_options *options = session->options;
    switch (event->kind) {
    case WH_SOURCE_STREAM: return begin_stream(session, &event->stream);
    case WH_SOURCE_SAMPLES: return push(session, event);
    case WH_SOURCE_GAP:
        session->samples_left -= event->lost < session->samples_left ? event->lost : session->samples_left;
        return decoded(session, wh_receiver_gap(session->receiver, event->lost));
    case WH_SOURCE_NOTICE:
        if (event->notice.status == WH_ERR_DATA) {
            wh_session_tell(session, session->source_name, &event->notice);
        } else if (!options->quiet) {
            wh_meter_hide(&session->meter);
            wh_exit_for(&event->notice);
        }
        return true;
    case WH_SOURCE_IDLE: return options->duration_s <= 0 || wh_meter_seconds(&session->meter) < options->duration_s;
    case WH_SOURCE_END: break;
    }
    return false;
}

bool wh_session_input(wh_session *session, const wh_source_options *options)
{
    wh_source_options wanted = *options;
    wh_source *source = NULL;
    wh_error error;
    wanted.log = (wh_log){on_log, session};
    snprintf(session->source_name, sizeof session->source_name, "%s", wanted.target);
    session->inputs++;
    if (wh_source_open(&wanted, &source, &error) != WH_OK) {
        wh_session_tell(session, session->source_name, &error);
        return true;
    }
    bool more = true;
    while (more && !wh_stop_asked() && !session->write_failed) {
        wh_source_event event;
        if (wh_source_next(source, &event, &error) != WH_OK) {
            wh_session_tell(session, session->source_name, &error);
            break;
        }
        more = take_event(session, &event);
        uint64_t done, total;
        wh_source_progress(source, &done, &total);
        wh_meter_show(&session->meter, session->source_name, done, total);
    }
    wh_source_destroy(&source);
    decoded(session, wh_receiver_finish(session->receiver)); /* what is still held comes out before the next input */
    return !wh_stop_asked() && !session->write_failed;
}
