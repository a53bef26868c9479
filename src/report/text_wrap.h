/* A label and a text that is broken at blanks. */
#ifndef WH_TEXT_WRAP_H
#define WH_TEXT_WRAP_H

#include "text_buffer.h"

/* `label`, then `body` from column `indent` on, continued there in further lines, within `columns`. An empty body
 * gives the label alone. */
void wh_text_wrap(wh_text *text, const char *label, const char *body, unsigned indent, unsigned columns);

#endif
