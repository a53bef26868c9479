/* The payload of a descriptor's frame as a map of letters, and what each letter stands for. */
#ifndef WH_FRAME_MAP_H
#define WH_FRAME_MAP_H

#include "descriptor_model.h"
#include "text_buffer.h"

/* Letters are fields, digits are checks, '*' belongs to several, '.' has no known meaning. */
void wh_frame_map_text(wh_text *text, const wh_descriptor *descriptor);

/* The map alone, one letter a bit. */
void wh_frame_map_letters(char map[WH_FRAME_BITS_MAX + 1], const wh_descriptor *descriptor);

/* "bits 0-31, 40" */
void wh_places_text(wh_text *text, const wh_places *places);

#endif
