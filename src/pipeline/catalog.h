/* The descriptors sorted for work: those that share a radio share the demodulation, those that share a frame layout as well
 * share the search. */
#ifndef WH_CATALOG_H
#define WH_CATALOG_H

#include "demod.h"
#include "descriptor_model.h"
#include "frame_search.h"

#include <stddef.h>

/* One way to frame the chips of a radio, and who reads it. */
typedef struct wh_catalog_framing {
    wh_framing framing;
    size_t descriptor_count, first; /* place of the first in the order of the whole catalog */
    const wh_descriptor **descriptors;
} wh_catalog_framing;

typedef struct wh_catalog_radio {
    wh_radio radio;
    wh_demod_limits limits;
    size_t framing_count;
    wh_catalog_framing *framings;
} wh_catalog_radio;

typedef struct wh_catalog {
    size_t radio_count, descriptor_count;
    wh_catalog_radio *radios;
    double pause_s;   /* longest carrier-off time within a frame */
    double longest_s; /* longest frame of all */
    double shortest_s;
} wh_catalog;

/* NULL when memory is out. The set must outlive the catalog. */
wh_catalog *wh_catalog_create(const wh_descriptor_set *set);
void wh_catalog_destroy(wh_catalog **catalog);

#endif
