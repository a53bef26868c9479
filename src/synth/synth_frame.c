#include "synth_frame.h"

#include <stdio.h>

wh_status wh_synth_frame(const wh_descriptor *descriptor, const wh_synth_value *values, size_t count, unsigned bits,
                         wh_absolute site, wh_frame_bits *frame, wh_error *error)
{
    const wh_frame_spec *spec = &descriptor->frame;
    wh_frame_blank(descriptor, frame);
    if (bits != 0) {
        const unsigned step = spec->bits_step ? spec->bits_step : 1;
        if (bits < spec->bits_min || bits > spec->bits_max || (bits - spec->bits_min) % step != 0) {
            char fix[128];
            snprintf(fix, sizeof fix, "choose %u to %u bits in steps of %u", spec->bits_min, spec->bits_max, step);
            return wh_fail(error, WH_ERR_LIMIT, fix, "%s has no frames of %u bits", descriptor->name, bits);
        }
        frame->count = bits;
    }
    for (size_t i = 0; i < count; i++) {
        const wh_status status = wh_field_set(descriptor, frame, values[i].field, values[i].value, site, error);
        if (status != WH_OK)
            return status;
    }
    wh_checks_write(descriptor, frame);
    return WH_OK;
}
