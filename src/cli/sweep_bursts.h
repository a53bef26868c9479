/* Bursts of kinds that no descriptor knows, heard at a wheel: kept as small recordings for 'wheelhark study'. */
#ifndef WH_SWEEP_BURSTS_H
#define WH_SWEEP_BURSTS_H

#include "wheelhark/iq.h"
#include "wheelhark/reading.h"
#include "wheelhark/status.h"

#define WH_SWEEP_BURSTS_MOST 30 /* of one run: at a million samples a second 20 MB */

typedef struct wh_sweep_bursts wh_sweep_bursts;

/* They go to `folder`, which is made when the first one comes. NULL when memory is out. */
wh_sweep_bursts *wh_sweep_bursts_create(const char *folder);
void wh_sweep_bursts_destroy(wh_sweep_bursts **bursts);
/* "" for NULL. */
const char *wh_sweep_bursts_folder(const wh_sweep_bursts *bursts);

/* The samples as they come; the last few seconds are remembered. Samples that were lost end a stretch: call
 * wh_sweep_bursts_stretch again with what follows. Failures of memory only mean that nothing is kept. */
void wh_sweep_bursts_stretch(wh_sweep_bursts *bursts, const wh_stream *stream);
void wh_sweep_bursts_samples(wh_sweep_bursts *bursts, const void *samples, size_t count);

/* Write the burst and what came before it as FOLDER/NAME.sigmf-data and .sigmf-meta. *kept: false when it is no longer
 * remembered, or there are enough; that is no failure. */
wh_status wh_sweep_bursts_keep(wh_sweep_bursts *bursts, const wh_burst *burst, const char *name, bool *kept,
                               wh_error *error);

#endif
