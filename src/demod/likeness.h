/* Likeness: how well kinds of radio go with a burst that is too weak for its edges to be seen one by one. It serves to
 * try the likeliest first. */
#ifndef WH_LIKENESS_H
#define WH_LIKENESS_H

#include "demod.h"
#include "tones.h"

typedef struct wh_likeness wh_likeness;

wh_likeness *wh_likeness_create(void); /* NULL when memory is out */
void wh_likeness_destroy(wh_likeness **likeness);
/* Begin with a burst and its periodogram, which must stay until the last wh_likeness_of. */
void wh_likeness_begin(wh_likeness *likeness, wh_tone_map *map, const wh_baseband *baseband);
/* For comparing radios on this burst: >= 0, the higher the likelier. What radios of like rates share is worked out at
 * the first. */
double wh_likeness_of(wh_likeness *likeness, const wh_radio *radio);
/* Is there no sign of another transmitter beside one of this kind? */
bool wh_likeness_is_alone(wh_likeness *likeness, const wh_radio *radio);

#endif
