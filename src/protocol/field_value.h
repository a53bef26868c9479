/* One field's raw number and what it means: shared by reading frames and by writing them. */
#ifndef WH_FIELD_VALUE_H
#define WH_FIELD_VALUE_H

#include "frame_fields.h"

/* Raw value after inversion, unsigned. */
uint64_t wh_field_raw(const wh_field *field, const wh_frame_bits *frame);
void wh_field_raw_write(const wh_field *field, wh_frame_bits *frame, uint64_t raw);
/* The code that covers `raw`, or NULL. */
const wh_code *wh_field_code(const wh_field *field, uint64_t raw);
/* What `raw` stands for: the state, and for WH_VALUE_OK the number in the field's own unit and reference. A raw
 * value beyond the lookup table is WH_VALUE_IMPLAUSIBLE. `code` (may be NULL) is what wh_field_code gave. */
wh_value_state wh_field_number(const wh_field *field, uint64_t raw, const wh_code *code, double *number);

#endif
