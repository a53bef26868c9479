/* Which axles a unit has: named layouts of the common units, and own ones written as a list of axles. */
#ifndef WH_LAYOUTS_H
#define WH_LAYOUTS_H

#include "wheelhark/roster.h"

typedef struct wh_layout {
    const char *name;    /* "tractor-three-axle" */
    const char *summary; /* a few words for people */
    wh_unit_kind kind;
    unsigned axle_count;
    bool dual[WH_AXLES_MAX]; /* from the front */
} wh_layout;

extern const wh_layout wh_layouts[];
extern const size_t wh_layout_count;

/* A layout by name, or written as axles from the front: "single, dual, dual" (commas or blanks between; any case). An
 * own one has an empty name and kind WH_OTHER_UNIT. WH_ERR_NOT_FOUND with the nearest name, or WH_ERR_ARGUMENT for a list
 * that is too long. */
wh_status wh_layout_parse(const char *text, wh_layout *layout, wh_error *error);

#define WH_AXLES_TEXT_SIZE 128
/* "single, dual, dual". Returns `text`. */
const char *wh_axles_text(char text[WH_AXLES_TEXT_SIZE], unsigned axle_count, const bool *dual);

#endif
