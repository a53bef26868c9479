/* What listen records while it decodes. Every call does nothing when nothing is recorded. */
#ifndef WH_SESSION_RECORD_H
#define WH_SESSION_RECORD_H

#include "session_end.h"

/* Makes the files and taps the receiver. 0 or an exit status (told). */
int wh_session_record_open(wh_session *session);
void wh_session_record_begin(wh_session *session, const wh_stream *stream);
/* `context` is the session: a hook of the feed. */
void wh_session_record_taken(void *context, const void *samples, size_t count);
void wh_session_record_lost(wh_session *session, uint64_t count);
/* After the receiver has finished: complete the recording and say what is in it. */
void wh_session_record_close(wh_session *session);

#endif
