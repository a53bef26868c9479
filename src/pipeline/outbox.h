/* The outbox: copies merge into readings, and everything leaves in order of time, however the work was cut up. */
#ifndef WH_OUTBOX_H
#define WH_OUTBOX_H

#include "burst_work.h"
#include "wheelhark/receiver.h"

typedef struct wh_outbox wh_outbox;

wh_outbox *wh_outbox_create(const wh_receiver_config *config, const wh_receiver_sink *sink, wh_receiver_stats *stats);
void wh_outbox_destroy(wh_outbox **outbox);
/* A finished job; jobs come in the order in which they were made. False when memory is out. */
bool wh_outbox_take(wh_outbox *outbox, const wh_burst_job *job);
/* Nothing that starts before `horizon_s` (seconds from the start of the recording) will come any more: send what is
 * complete. INFINITY sends everything. */
void wh_outbox_send(wh_outbox *outbox, double horizon_s);

#endif
