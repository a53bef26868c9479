/* Pages over a walk and the store: what `wheelhark serve` runs. */
#ifndef WH_WEB_SESSION_H
#define WH_WEB_SESSION_H

#include "web_board.h"
#include "web_bursts.h"

#include <pthread.h>

typedef struct wh_web_session {
    wh_sweep_walk *walk;     /* NULL: no sweep runs, the yard is shown from the store */
    wh_sweep_options *asked; /* what the walk was asked to do; its units of measure change with the pages' */
    wh_web_server *server;
    const char *store; /* file, or NULL: the user's own */
    double pace;       /* of recordings: signal seconds a second; 0: as fast as it goes */
    int64_t published_id;
    bool dirty;         /* something happened since the last publication */
    double published_s; /* when that was */
    bool stale;         /* /yard is older than the last event */
    double yard_s;      /* when it was published */
    wh_burst_shelf *shelf;
    wh_descriptor_set *descriptors;      /* for the server's thread; NULL: without a walk there are no bursts */
    char burst_file[WH_BURST_FILE_SIZE]; /* the server's thread's */
    double bursts_s;                     /* when /bursts was published */
    double until_s;       /* recordings are played up to here, from the start of the first; infinite: to their end */
    double begun_s;       /* of the recordings: when their first sample was due */
    pthread_mutex_t lock; /* for what the server's thread reads: */
    wh_case_options options;
    wh_thresholds thresholds;
} wh_web_session;

/* All of it: server, walk if units are named, then the yard until Ctrl-C. Returns an exit status. */
int wh_web_serve(wh_sweep_options *options);

#endif
