/* A closer look at one burst that was cut out: its recording is received once more, by itself. */
#ifndef WH_BURST_LOOK_H
#define WH_BURST_LOOK_H

#include "sample_memory.h"
#include "wheelhark/descriptor.h"
#include "wheelhark/status.h"

/* Append pictures of the burst (envelope, frequency with the decided chips, bits of its frame by field; the spectrogram of what
 * surrounds it) as HTML. In any thread: `descriptors` are only read. WH_ERR_MEMORY, WH_ERR_UNSUPPORTED. */
wh_status wh_burst_look(const wh_burst_cut *cut, const wh_descriptor_set *descriptors, wh_text *html, wh_error *error);

#endif
