/* A queue of bytes between one writing and one reading thread, without locks. When it is full the writer drops what
 * it brings, and the reader is told how much is missing at exactly that place. */
#ifndef WH_RING_H
#define WH_RING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct wh_ring wh_ring;

/* Room for at least `capacity` bytes (1 .. 2^30). NULL when out of memory. */
wh_ring *wh_ring_create(size_t capacity);
/* Only when neither thread uses it any more. */
void wh_ring_destroy(wh_ring **ring);

/* Writer: all of `count` bytes, or none when there is no room (then false, and they count as lost). */
bool wh_ring_write(wh_ring *ring, const void *bytes, size_t count);
/* Writer: `count` bytes never came; the reader learns it at this place. */
void wh_ring_lose(wh_ring *ring, uint64_t count);

/* Reader: up to `room` bytes. Returns 0 when nothing is there, or when bytes were lost before the next ones: then
 * *lost says how many, once; otherwise *lost is 0. */
size_t wh_ring_read(wh_ring *ring, void *bytes, size_t room, uint64_t *lost);
/* Reader: would the next read tell anything? */
bool wh_ring_ready(const wh_ring *ring);
/* Reader: bytes lost behind all that is in the ring. For the end, when the writer has stopped. Told once. */
uint64_t wh_ring_lost_at_end(wh_ring *ring);
/* Any thread: bytes dropped since the creation. */
uint64_t wh_ring_dropped(const wh_ring *ring);

#endif
