/* Bursts of kinds that no descriptor knows, heard at a wheel: kept as small recordings for 'wheelhark study'. */
#ifndef WH_SWEEP_BURSTS_H
#define WH_SWEEP_BURSTS_H

#include "sample_memory.h"
#include "wheelhark/status.h"

#define WH_SWEEP_BURSTS_MOST 30 /* of one run: at a million samples a second 20 MB */

typedef struct wh_sweep_bursts wh_sweep_bursts;

/* They go to `folder`, which is made when the first one comes. NULL when memory is out. */
wh_sweep_bursts *wh_sweep_bursts_create(const char *folder);
void wh_sweep_bursts_destroy(wh_sweep_bursts **bursts);
/* "" for NULL. */
const char *wh_sweep_bursts_folder(const wh_sweep_bursts *bursts);

/* Write the burst and what came before it as FOLDER/NAME.sigmf-data and .sigmf-meta. *kept: false when there are enough; that is
 * no failure. */
wh_status wh_sweep_bursts_keep(wh_sweep_bursts *bursts, const wh_burst_cut *cut, const char *name, bool *kept,
                               wh_error *error);

#endif
