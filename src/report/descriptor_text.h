/* A descriptor in plain words, for people: what is on the air, and what every bit of the frame means. */
#ifndef WH_DESCRIPTOR_TEXT_H
#define WH_DESCRIPTOR_TEXT_H

#include "text_buffer.h"
#include "wheelhark/descriptor.h"

#define WH_DESCRIPTOR_TEXT_COLUMNS 80

/* Several lines of at most WH_DESCRIPTOR_TEXT_COLUMNS columns (a longer single word excepted). */
void wh_descriptor_text(wh_text *text, const wh_descriptor *descriptor);

#endif
