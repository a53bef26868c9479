/* One run of decode or listen: descriptors, receiver, report, expectation and what is told on stderr. */
#ifndef WH_SESSION_H
#define WH_SESSION_H

#include "run_options.h"

typedef struct wh_session wh_session;

/* Everything that can be wrong before the first sample is found here. Returns 0 and *out, or an exit status after
 * telling why. `options` must outlive the session. */
int wh_session_open(const wh_run_options *options, wh_session **out);
/* Take in one input to its end, to Ctrl-C, or until it fails; failures are told and kept for the exit status.
 * False when there is no point in going on with further inputs. */
bool wh_session_input(wh_session *session, const wh_source_options *source);
/* Summary, expectation, last words; the session is gone afterwards. Returns the worst exit status of the run. When
 * nobody reads stdout any more, the process ends here in silence, as SIGPIPE would have ended it. */
int wh_session_close(wh_session **session);

#endif
