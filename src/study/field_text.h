/* What a study found about the fields of one kind, told to people. */
#ifndef WH_FIELD_TEXT_H
#define WH_FIELD_TEXT_H

#include "field_study.h"
#include "text_buffer.h"

/* Check, sensors, columns, ID, pressure and temperature, each with how sure; and which recording would tell more. `truth` says
 * whether one was given. */
void wh_field_text(const wh_field_study *study, bool truth, wh_text *text);

#endif
