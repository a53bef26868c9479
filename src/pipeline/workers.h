/* Threads for bursts: jobs go in and come back in the same order. The only place with threads in the signal path. */
#ifndef WH_WORKERS_H
#define WH_WORKERS_H

#include "burst_work.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_workers wh_workers;

/* `threads` 0: jobs are done in put() itself. NULL when memory or threads are out. */
wh_workers *wh_workers_create(const wh_catalog *catalog, unsigned threads);
void wh_workers_destroy(wh_workers **workers);
/* Hand a job over; the caller takes finished ones with get() first whenever full() says so. */
bool wh_workers_full(wh_workers *workers);
void wh_workers_put(wh_workers *workers, wh_burst_job *job);
/* The oldest job when it is done, else NULL; with `wait`, NULL only when there is none. It is the caller's again. */
wh_burst_job *wh_workers_get(wh_workers *workers, bool wait);
/* Smallest burst start among jobs not yet returned, INFINITY when none. */
double wh_workers_earliest_s(wh_workers *workers);

#endif
