/* Isolated bursts for those who study them, whether or not a descriptor fits. */
#ifndef WH_BURST_TAP_H
#define WH_BURST_TAP_H

#include "burst_work.h"
#include "detect.h"
#include "wheelhark/receiver.h"

/* Called for each outline in the order in which they end, from within push and finish; both are valid during the call. The outline's
 * samples count from the start of the stretch; the job holds the burst at baseband, not worked on yet. */
typedef void (*wh_burst_tap_fn)(void *context, const wh_burst_job *job, const wh_outline *outline);

typedef struct wh_burst_tap {
    wh_burst_tap_fn take;
    void *context;
    /* Without descriptors nobody else says what an emission looks like; what descriptors ask for still counts when it is more. */
    double pause_s;   /* longest carrier-off time within an emission; 0..0.02 */
    double longest_s; /* longest emission; at most 1.5 */
} wh_burst_tap;

/* Before wh_receiver_begin. The tap is copied; NULL takes it away. */
void wh_receiver_set_tap(wh_receiver *receiver, const wh_burst_tap *tap);

#endif
