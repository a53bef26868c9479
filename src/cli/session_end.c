#include "session_end.h"

#include "session_record.h"
#include "summary_text.h"
#include "talk.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

enum { DIFFERENCES_SHOWN = 20 };

void wh_session_free(wh_session **session)
{
    wh_session *s = *session;
    wh_receiver_destroy(&s->receiver);
    wh_recorder_destroy(&s->recorder);
    wh_descriptor_set_destroy(&s->descriptors);
    wh_report_destroy(&s->report);
    wh_expect_destroy(&s->expect);
    if (s->out && s->out != stdout)
        fclose(s->out);
    free(s);
    *session = NULL;
}

static void print_difference(void *context, const char *text)
{
    size_t *shown = context;
    if ((*shown)++ < DIFFERENCES_SHOWN)
        wh_talk("  ", text);
}

static void judge_expectation(wh_session *session)
{
    if (session->expect_status != WH_OK) {
        wh_error error;
        wh_fail(&error, session->expect_status, "compare shorter recordings", "too many readings to compare");
        wh_session_worsen(session, wh_exit_for(&error));
        return;
    }
    size_t shown = 0;
    const size_t differences = wh_expect_compare(session->expect, print_difference, &shown);
    if (differences > DIFFERENCES_SHOWN)
        fprintf(stderr, "  and %zu more\n", differences - DIFFERENCES_SHOWN);
    if (differences > 0) {
        fprintf(stderr, "wheelhark: expectation not met: %zu readings expected, %zu heard, %zu difference%s\n",
                wh_expect_count(session->expect), wh_expect_heard(session->expect), differences,
                differences == 1 ? "" : "s");
        wh_session_worsen(session, WH_EXIT_EXPECTATION);
    } else if (!session->options->quiet) {
        fprintf(stderr, "wheelhark: all %zu readings are as expected\n", wh_expect_count(session->expect));
    }
}

static void print_last_words(wh_session *session, const wh_run_summary *summary)
{
    const wh_run_options *options = session->options;
    wh_text text = {0};
    /* How fast a live source comes in says nothing about the program. */
    wh_summary_text(&text, summary, options->live ? 0.0 : wh_meter_seconds(&session->meter));
    if (session->site_mattered) {
        char number[WH_FIXED_SIZE];
        wh_text_print(&text, "Gauge pressures are for an air pressure of %s kPa at this place.\n",
                      wh_fixed(number, options->site.kpa, 1));
    }
    if (session->pressures_shown && options->style.format == WH_REPORT_TEXT)
        wh_safety_text(&text);
    if (text.data)
        fputs(text.data, stderr);
    wh_text_free(&text);
}

/* Nobody reads any more: end as a program without a handler ends, without a word. */
static void end_by_pipe(void)
{
    signal(SIGPIPE, SIG_DFL);
    raise(SIGPIPE);
}

int wh_session_close(wh_session **session)
{
    wh_session *s = *session;
    wh_run_summary summary = {.inputs = s->inputs};
    wh_receiver_get_stats(s->receiver, &summary.stats);
    wh_meter_hide(&s->meter);
    wh_session_record_close(s); /* before anything that may end the program */
    wh_status written = s->write_failed ? WH_OK : wh_report_summary(s->report, &summary);
    if (!s->write_failed && wh_report_finish(s->report) != WH_OK)
        written = WH_ERR_IO;
    if (written != WH_OK) {
        s->pipe_closed = errno == EPIPE;
        wh_error error;
        wh_fail(&error, WH_ERR_IO, NULL, "writing failed: %s", strerror(errno));
        wh_session_worsen(s, s->pipe_closed ? WH_EXIT_IO : wh_exit_for(&error));
    }
    if (s->pipe_closed)
        end_by_pipe();
    if (!s->options->quiet)
        print_last_words(s, &summary);
    if (s->expect && !s->write_failed && !wh_stop_asked())
        judge_expectation(s);
    const int status = s->status;
    wh_session_free(session);
    return status;
}
