/* Random frames, and the chips that carry them. */
#ifndef MODEM_FRAME_H
#define MODEM_FRAME_H

#include "frame_fields.h"
#include "rng.h"

/* Random bits with right constants and checks, of the shortest length. All values are plausible but for one frame in
 * thirty, as of sensors in drawers and on benches. */
void modem_frame_draw(const wh_descriptor *descriptor, wh_rng *rng, wh_frame_bits *frame);
/* Chips with carrier that one bit of this frame takes in the mean. */
double modem_frame_on_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame);
/* Chips of the payload alone. */
size_t modem_frame_payload_chips(const wh_descriptor *descriptor, const wh_frame_bits *frame);

/* Add to `set` and return the descriptor of an 80-bit frame with a CRC of 8 bits: "fsk-40", "fsk-20", "ook"
 * (Manchester), and one for every other line code. Index 0 .. MODEM_KINDS - 1. NULL when it is refused. */
#define MODEM_KINDS 9
const char *modem_kind_name(unsigned index);
const wh_descriptor *modem_kind(wh_descriptor_set *set, unsigned index);
/* The same with another rate tolerance than the usual one of a twentieth, in whole hundredths up to a tenth. */
const wh_descriptor *modem_kind_tolerant(wh_descriptor_set *set, unsigned index, double rate_tolerance);

#endif
