/* The session's inside, shared by session.c (running) and session_end.c (the last words). */
#ifndef WH_SESSION_END_H
#define WH_SESSION_END_H

#include "expect.h"
#include "meter.h"
#include "recorder.h"
#include "session.h"
#include "wheelhark/receiver.h"

struct wh_session {
    const wh_run_options *options;
    FILE *out;
    wh_report *report;
    wh_expect *expect;
    wh_status expect_status; /* of keeping readings for it */
    wh_descriptor_set *descriptors;
    wh_receiver *receiver;
    wh_meter meter;
    unsigned inputs;
    char source_name[128];
    bool begun, listening;
    uint64_t samples_left; /* of --duration */
    bool pressures_shown, site_mattered;
    bool write_failed, pipe_closed;
    wh_recorder *recorder; /* NULL: nothing is recorded */
    bool record_failed;    /* and told */
    double record_rate_hz; /* 1 until the first stretch begins */
    int status;            /* the worst so far */
};

void wh_session_worsen(wh_session *session, int status);
/* On stderr, as a record where the format has one, and in the exit status. */
void wh_session_tell(wh_session *session, const char *source, const wh_error *error);
void wh_session_free(wh_session **session);

#endif
