#include "session.h"

#include "early_text.h"
#include "expect.h"
#include "feed.h"
#include "meter.h"
#include "session_end.h"
#include "session_record.h"
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

/* Whoever stands at the tire sees at once that it answered; the record comes when no further copy can. */
static void on_early(void *context, const wh_reading *reading)
{
    wh_session *session = context;
    const unsigned columns = wh_meter_note_columns(&session->meter);
    wh_text note = {0};
    if (columns > 0)
        wh_early_text(&note, &session->options->style, reading, columns);
    if (note.data)
        wh_meter_note(&session->meter, note.data);
    wh_text_free(&note);
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
    const wh_receiver_sink sink = {.context = session,
                                   .reading = on_reading,
                                   .burst = options->bursts || options->explain ? on_burst : NULL,
                                   .attempt = options->explain ? on_attempt : NULL,
                                   .early = options->live && !options->quiet ? on_early : NULL};
    return wh_feed_receiver(options, &sink, (wh_log){on_log, session}, &session->descriptors, &session->receiver);
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
    session->record_rate_hz = 1.0;
    wh_meter_begin(&session->meter, !options->quiet && !options->live);
    int status = 0;
    if (options->expect && wh_expect_load(options->expect, &session->expect, &error) != WH_OK)
        status = wh_exit_for(&error);
    if (status == 0)
        status = open_receiver(session);
    if (status == 0)
        status = open_output(session);
    if (status == 0)
        status = wh_session_record_open(session);
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

static void on_stream(void *context, const wh_stream *stream)
{
    wh_session *session = context;
    told_listening(session, stream);
    snprintf(session->source_name, sizeof session->source_name, "%s", stream->name);
    if (!session->begun && session->options->duration_s > 0)
        session->samples_left = (uint64_t)(session->options->duration_s * stream->sample_rate_hz + 0.5);
    session->begun = true;
    wh_session_record_begin(session, stream);
}

/* No more than --duration leaves. */
static size_t on_samples(void *context, const void *samples, size_t count)
{
    wh_session *session = context;
    (void)samples;
    if (session->options->duration_s <= 0)
        return count;
    const size_t taken = session->samples_left < count ? (size_t)session->samples_left : count;
    session->samples_left -= taken;
    return taken;
}

static void on_lost(void *context, uint64_t count)
{
    wh_session *session = context;
    session->samples_left -= count < session->samples_left ? count : session->samples_left;
    wh_session_record_lost(session, count);
}

static void on_notice(void *context, const wh_error *notice)
{
    wh_session *session = context;
    if (notice->status == WH_ERR_DATA) {
        wh_session_tell(session, session->source_name, notice);
    } else if (!session->options->quiet) {
        wh_meter_hide(&session->meter);
        wh_exit_for(notice);
    }
}

static bool on_more(void *context, wh_source *source, bool idle)
{
    wh_session *session = context;
    const double duration_s = session->options->duration_s;
    uint64_t done, total;
    wh_source_progress(source, &done, &total);
    wh_meter_show(&session->meter, session->source_name, done, total);
    if (duration_s > 0 &&
        (idle ? wh_meter_seconds(&session->meter) >= duration_s : session->begun && session->samples_left == 0))
        return false;
    return !wh_stop_asked() && !session->write_failed && !session->record_failed;
}

bool wh_session_input(wh_session *session, const wh_source_options *options)
{
    const wh_feed_hooks hooks = {session,
                                 on_stream,
                                 on_samples,
                                 on_lost,
                                 on_notice,
                                 on_more,
                                 session->options->record ? wh_session_record_taken : NULL};
    wh_source_options wanted = *options;
    wh_error error;
    wanted.log = (wh_log){on_log, session};
    snprintf(session->source_name, sizeof session->source_name, "%s", wanted.target);
    session->inputs++;
    if (wh_feed_input(&wanted, session->receiver, &hooks, &error) != WH_OK)
        wh_session_tell(session, session->source_name, &error);
    return !wh_stop_asked() && !session->write_failed;
}
