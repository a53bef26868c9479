#include "session_record.h"

#include "burst_tap.h"

#include <math.h>
#include <stdio.h>

static void fail(wh_session *session, const wh_error *error)
{
    if (!session->record_failed)
        wh_session_tell(session, session->source_name, error);
    session->record_failed = true;
}

static void take_burst(void *context, const wh_burst_job *job, const wh_outline *outline)
{
    wh_session *session = context;
    /* The stretch's first sample, counted from the start of the recording: a gap begins a new stretch. */
    const uint64_t first = (uint64_t)llround(job->time_base_s * session->record_rate_hz);
    const double centre = job->burst.carrier_hz, half = outline->width_hz / 2.0;
    const wh_recorder_burst burst = {.start = first + outline->start,
                                     .end = first + outline->end,
                                     .low_hz = centre - half,
                                     .high_hz = centre + half,
                                     .snr_db = outline->snr_db,
                                     .cut = outline->cut};
    wh_recorder_burst_heard(session->recorder, &burst);
}

int wh_session_record_open(wh_session *session)
{
    const wh_run_options *run = session->options;
    if (!run->record)
        return 0;
    const wh_recorder_options options = {.base = run->record,
                                         .everything = run->record_everything,
                                         .before_s = run->record_before_s,
                                         .after_s = WH_RECORDER_AFTER_S,
                                         .generator = "wheelhark listen",
                                         .live = true,
                                         .has_gain = !isnan(run->source.gain_db),
                                         .gain_db = run->source.gain_db,
                                         .ppm = isnan(run->source.ppm) ? 0.0 : run->source.ppm};
    wh_error error;
    if (wh_recorder_create(&options, &session->recorder, &error) != WH_OK) {
        wh_exit_for(&error);
        return WH_EXIT_CANT_CREATE;
    }
    /* The descriptors' own limits hold, and bursts that none of them knows are recorded as well. */
    const wh_burst_tap tap = {take_burst, session, 0.0, 0.0};
    wh_receiver_set_tap(session->receiver, &tap);
    return 0;
}

void wh_session_record_begin(wh_session *session, const wh_stream *stream)
{
    wh_error error;
    if (!session->recorder || session->record_failed)
        return;
    session->record_rate_hz = stream->sample_rate_hz;
    if (wh_recorder_begin(session->recorder, stream, &error) != WH_OK)
        fail(session, &error);
}

void wh_session_record_taken(void *context, const void *samples, size_t count)
{
    wh_session *session = context;
    wh_error error;
    if (session->recorder && !session->record_failed &&
        wh_recorder_push(session->recorder, samples, count, &error) != WH_OK)
        fail(session, &error);
}

void wh_session_record_lost(wh_session *session, uint64_t count)
{
    if (session->recorder && !session->record_failed)
        wh_recorder_lost(session->recorder, count);
}

void wh_session_record_close(wh_session *session)
{
    wh_error error;
    wh_recorder_stats stats;
    if (!session->recorder)
        return;
    if (wh_recorder_finish(session->recorder, &error) != WH_OK)
        fail(session, &error);
    wh_recorder_get_stats(session->recorder, &stats);
    if (!session->options->quiet)
        fprintf(stderr, "wheelhark: recorded %s.sigmf-meta: %zu burst%s, %.3f s of %.3f s, %llu samples lost\n",
                session->options->record, stats.bursts, stats.bursts == 1 ? "" : "s",
                (double)stats.written / session->record_rate_hz, (double)stats.seen / session->record_rate_hz,
                (unsigned long long)stats.lost);
    if (stats.left_out > 0 && !session->options->quiet)
        fprintf(stderr, "wheelhark: %zu more bursts are not annotated\n", stats.left_out);
}
