/* The bursts heard last, with what every descriptor made of them, and the samples of the very last: for pages. Filled by the walk's
 * thread, read by the server's; every call takes the lock. */
#ifndef WH_BURST_SHELF_H
#define WH_BURST_SHELF_H

#include "sample_memory.h"

#define WH_SHELF_BURSTS   50
#define WH_SHELF_CUTS     20          /* of these, with their samples ... */
#define WH_SHELF_BYTES    (32u << 20) /* ... as long as they take no more than this in all */
#define WH_SHELF_ATTEMPTS 64          /* of one burst; more are counted */

typedef struct wh_burst_shelf wh_burst_shelf;

typedef struct wh_shelf_burst {
    wh_burst burst;
    size_t attempt_count, left_out;
    wh_attempt attempts[WH_SHELF_ATTEMPTS]; /* in order of the descriptors' names */
    wh_burst_cut cut;                       /* `samples` NULL: not kept (any more) */
} wh_shelf_burst;

/* NULL when memory is out. */
wh_burst_shelf *wh_burst_shelf_create(void);
void wh_burst_shelf_destroy(wh_burst_shelf **shelf);

/* Put a burst in front; the oldest falls off. `cut` NULL: its samples are not at hand; else they become the shelf's and the cut is
 * empty afterwards. */
void wh_burst_shelf_put(wh_burst_shelf *shelf, const wh_burst *burst, wh_burst_cut *cut);
/* For the burst of its number; ignored when that is not there. */
void wh_burst_shelf_attempt(wh_burst_shelf *shelf, const wh_attempt *attempt);
/* Has it changed since this was asked last? */
bool wh_burst_shelf_changed(wh_burst_shelf *shelf);

/* The document /bursts, latest first: {"bursts": [...]}. Within a burst the attempts that came furthest are first. */
void wh_burst_shelf_json(wh_burst_shelf *shelf, wh_text *text);

/* A copy, with its samples if they are kept. False when there is no such burst (any more), or memory is out. */
bool wh_burst_shelf_copy(wh_burst_shelf *shelf, uint64_t number, wh_shelf_burst *copy);

/* "read by NAME", or "NAME, frame: why it went no further". */
void wh_burst_outcome(wh_text *text, const wh_burst *burst);
/* Indices of the attempts, those that came furthest first; `order` has room for WH_SHELF_ATTEMPTS. */
void wh_attempts_furthest_first(const wh_shelf_burst *burst, size_t *order);

#endif
