#include "synth_frame.h"

#include "bits.h"

#include <stdio.h>

/* What the first example says, as far as the frame reaches. */
static void start_from_example(const wh_descriptor *descriptor, wh_frame_bits *frame)
{
    if (descriptor->example_count == 0)
        return;
    const wh_example *example = &descriptor->examples[0];
    for (unsigned i = 0; i < example->bits && i < frame->count; i++)
        wh_bit_put(frame->data, i, wh_bit_get(example->frame, i));
}

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
    start_from_example(descriptor, frame);
    for (size_t i = 0; i < count; i++) {
        const wh_status status = wh_field_set(descriptor, frame, values[i].field, values[i].value, site, error);
        if (status != WH_OK)
            return status;
    }
    wh_checks_write(descriptor, frame);
    return WH_OK;
}
