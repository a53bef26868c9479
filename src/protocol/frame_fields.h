/* Frames to values and back. Pure functions over a compiled descriptor. */
#ifndef WH_FRAME_FIELDS_H
#define WH_FRAME_FIELDS_H

#include "descriptor_model.h"
#include "wheelhark/reading.h"

/* A frame as packed bits, first payload bit = most significant bit of byte 0; unused bits 0. */
typedef struct wh_frame_bits {
    unsigned count;
    uint8_t data[WH_FRAME_BITS_MAX / 8];
} wh_frame_bits;

/* Raw unsigned value of `places` (<= 64 bits), honouring orders; no inversion or sign. Low bit first turns the whole
 * value round (the first bit of the places is the least significant), which puts its bytes in order as well:
 * low byte first then changes nothing. Low byte first needs a whole number of bytes. Bits from WH_FRAME_BITS_MAX
 * on read as 0 and are not written. */
uint64_t wh_places_read(const wh_frame_bits *frame, const wh_places *places, bool low_bit_first, bool low_byte_first);
void wh_places_write(wh_frame_bits *frame, const wh_places *places, bool low_bit_first, bool low_byte_first,
                     uint64_t raw);
unsigned wh_places_bits(const wh_places *places);

/* The value a check must have, from the bits it covers. */
uint32_t wh_check_value(const wh_check *check, const wh_frame_bits *frame);
/* Does the check hold? */
bool wh_check_right(const wh_check *check, const wh_frame_bits *frame);
/* Does check `index` hold? */
bool wh_check_holds(const wh_descriptor *descriptor, unsigned index, const wh_frame_bits *frame);
/* Write the right value into the places of every check, in order. */
void wh_checks_write(const wh_descriptor *descriptor, wh_frame_bits *frame);
/* Index of the first constant field with another value, or -1. */
int wh_constants_mismatch(const wh_descriptor *descriptor, const wh_frame_bits *frame);
/* Bits of evidence that checks and constants give: the sum of their widths (overlaps counted once). */
unsigned wh_evidence_bits(const wh_descriptor *descriptor);

/* Bits by which the checks guard against a few wrong bits in an otherwise true frame: a CRC lets 2^-width of such errors pass,
 * but in a sum or XOR of words two wrong bits in the same column cancel, whatever the width (one pair in `word`). */
unsigned wh_guard_bits(const wh_descriptor *descriptor);

/* Mark (most significant bit of marks[0] first) the bits of constants. */
void wh_constant_bits(const wh_descriptor *descriptor, uint8_t marks[WH_FRAME_BITS_MAX / 8]);
/* Mark, in the same way, the bits that decide whether a reading is right: those of fields and checks, what the
 * checks cover, and steady bits; not those of constants, which every frame of the kind has. */
void wh_bits_that_matter(const wh_descriptor *descriptor, uint8_t marks[WH_FRAME_BITS_MAX / 8]);

#define WH_NICKNAME_SIZE 12
/* The nickname that a frame's steady bits give its sensor: '~' and six hex digits, or "~unknown" when the descriptor names none.
 * A pure function of bits and places: a descriptor that was partial and has become complete may keep its `steady`, and what
 * was kept under the nickname is then found from any frame with the real ID. Returns how many bits tell sensors apart. */
unsigned wh_nickname_of(const wh_descriptor *descriptor, const wh_frame_bits *frame, char out[WH_NICKNAME_SIZE]);

/* Fill sensor, pressure, temperature, values, flags, frame of *reading; other members stay as they are. Fields that
 * reach beyond frame->count are left out. Without a sensor field the nickname is '~' and six hex digits made
 * from the steady bits ("~unknown" when the descriptor names none).
 * Returns the number of values that are WH_VALUE_IMPLAUSIBLE (a raw value beyond the lookup table is one). */
unsigned wh_fields_decode(const wh_descriptor *descriptor, const wh_frame_bits *frame, wh_absolute site,
                          wh_reading *reading);

/* Set one field of a frame from text with a unit ("724 kPa", "18.5 degC", "0A1B2C3D", "yes", "fault", "not available",
 * the text of one of the field's codes, or "raw FF"). Pressure may be given as gauge or absolute ("724 kPa
 * absolute", default gauge) and is converted with `site`. The nearest raw value is taken. Fails with what is
 * possible when out of the field's range; values outside the plausible range are allowed. */
wh_status wh_field_set(const wh_descriptor *descriptor, wh_frame_bits *frame, const char *field, const char *value,
                       wh_absolute site, wh_error *error);
/* Frame with constants set, everything else 0 (checks not yet written), of frame.bits_min bits. */
void wh_frame_blank(const wh_descriptor *descriptor, wh_frame_bits *frame);

#endif
