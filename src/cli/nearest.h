/* "Did you mean ...?": the known word nearest to one that was mistyped. */
#ifndef WH_NEAREST_H
#define WH_NEAREST_H

typedef struct wh_nearest {
    const char *given;
    const char *best;  /* NULL when nothing came near enough */
    unsigned distance; /* of best */
} wh_nearest;

wh_nearest wh_nearest_begin(const char *given);
/* Offer one known word; kept by reference. Words further away than a third of their length do not count. */
void wh_nearest_offer(wh_nearest *nearest, const char *word);

#endif
