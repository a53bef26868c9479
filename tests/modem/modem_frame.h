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
/* Squared distance of a one from a zero, over twice the mean energy of a bit: 1 for words that are orthogonal and equally strong, as in
 * Manchester code. Coherent detection of a bit errs by Q(sqrt(distance Eb/N0)) (d^2 / 2 N0 under the root: Proakis, Digital
 * Communications, from memory). The pulse-width words 110 and 100 differ in one chip, and take 1.5 in the mean: 1/3, or 4.8 dB. */
double modem_kind_distance(unsigned index);
const wh_descriptor *modem_kind(wh_descriptor_set *set, unsigned index);

/* What can be chosen; modem_kind takes 5 %, three copies, 30 to 60 ms apart. */
typedef struct modem_kind_options {
    double rate_tolerance; /* 0.01 .. 0.10 */
    unsigned copies;
    double gap_least_s, gap_most_s; /* whole milliseconds */
} modem_kind_options;
const wh_descriptor *modem_kind_with(wh_descriptor_set *set, unsigned index, modem_kind_options with);

#endif
