/* One burst to look at: envelope, instantaneous frequency with the decided chips, eye, histogram of what the chips are told by, and
 * the bits of its frame. One SVG without scripts; numbers of samples are those of the recording. */
#ifndef WH_BURST_PICTURE_H
#define WH_BURST_PICTURE_H

#include "demod.h"
#include "text_buffer.h"
#include "wheelhark/status.h"

#include <stdint.h>

typedef struct wh_burst_view {
    const char *title; /* "burst 12 of yard.sigmf-meta" */
    wh_baseband baseband;
    uint64_t first_sample;   /* of the recording, where baseband.samples[0] stands */
    double samples_per;      /* samples of the recording per sample of the baseband, >= 1 */
    const wh_radio *radio;   /* NULL: found from the burst itself */
    const uint8_t *bits;     /* of its frame, packed, first bit = most significant bit of byte 0; NULL: none */
    unsigned bit_count;      /* at most 256 */
    const char *bit_letters; /* [bit_count] what each bit belongs to, as in the descriptor's map; NULL: nothing known */
} wh_burst_view;

/* At most about 100 kB, whatever the burst is. A burst without keying shows its envelope alone. WH_ERR_ARGUMENT for an empty
 * burst, WH_ERR_MEMORY. */
wh_status wh_burst_picture(const wh_burst_view *view, wh_text *svg, wh_error *error);

#endif
