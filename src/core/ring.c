#include "ring.h"

#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

/* The writer moves `head`, the reader moves `tail`; both only grow, and their difference is the fill. Each stands in
 * a cache line of its own, or every step of one thread would take the line away from the other. A write is a record:
 * how much was lost before it, how long it is, its bytes. */
#define CACHE_LINE 64

typedef struct ring_record {
    uint64_t lost;
    uint64_t length;
} ring_record;

struct wh_ring {
    size_t size; /* power of two */
    uint8_t *bytes;
    char pad_constant[CACHE_LINE];
    _Atomic uint64_t head;
    uint64_t pending_lost; /* writer's own: dropped since the last record */
    char pad_head[CACHE_LINE];
    _Atomic uint64_t tail;
    uint64_t record_left; /* reader's own: bytes of the record at hand */
    uint64_t lost_told;   /* reader's own */
    char pad_tail[CACHE_LINE];
    _Atomic uint64_t dropped; /* in all */
};

wh_ring *wh_ring_create(size_t capacity)
{
    size_t size = 4096;
    if (capacity == 0 || capacity > (size_t)1 << 30)
        return NULL;
    while (size < capacity + sizeof(ring_record))
        size *= 2;
    wh_ring *ring = calloc(1, sizeof *ring);
    if (!ring)
        return NULL;
    ring->size = size;
    ring->bytes = malloc(size);
    atomic_init(&ring->head, 0);
    atomic_init(&ring->tail, 0);
    atomic_init(&ring->dropped, 0);
    if (!ring->bytes) {
        free(ring);
        return NULL;
    }
    return ring;
}

void wh_ring_destroy(wh_ring **ring)
{
    if (!*ring)
        return;
    free((*ring)->bytes);
    free(*ring);
    *ring = NULL;
}

static void copy_in(wh_ring *ring, uint64_t at, const void *bytes, size_t count)
{
    const size_t from = (size_t)(at & (ring->size - 1));
    const size_t first = count < ring->size - from ? count : ring->size - from;
    memcpy(ring->bytes + from, bytes, first);
    memcpy(ring->bytes, (const uint8_t *)bytes + first, count - first);
}

static void copy_out(const wh_ring *ring, uint64_t at, void *bytes, size_t count)
{
    const size_t from = (size_t)(at & (ring->size - 1));
    const size_t first = count < ring->size - from ? count : ring->size - from;
    memcpy(bytes, ring->bytes + from, first);
    memcpy((uint8_t *)bytes + first, ring->bytes, count - first);
}

void wh_ring_lose(wh_ring *ring, uint64_t count)
{
    ring->pending_lost += count;
    atomic_fetch_add_explicit(&ring->dropped, count, memory_order_release);
}

bool wh_ring_write(wh_ring *ring, const void *bytes, size_t count)
{
    const uint64_t head = atomic_load_explicit(&ring->head, memory_order_relaxed);
    const uint64_t tail = atomic_load_explicit(&ring->tail, memory_order_acquire);
    const ring_record record = {.lost = ring->pending_lost, .length = count};
    if (count > ring->size - sizeof record || ring->size - (head - tail) < sizeof record + count) {
        wh_ring_lose(ring, count);
        return false;
    }
    if (count == 0)
        return true;
    copy_in(ring, head, &record, sizeof record);
    copy_in(ring, head + sizeof record, bytes, count);
    ring->pending_lost = 0;
    /* Release: whoever sees the new head sees the bytes. */
    atomic_store_explicit(&ring->head, head + sizeof record + count, memory_order_release);
    return true;
}

size_t wh_ring_read(wh_ring *ring, void *bytes, size_t room, uint64_t *lost)
{
    uint64_t tail = atomic_load_explicit(&ring->tail, memory_order_relaxed);
    const uint64_t head = atomic_load_explicit(&ring->head, memory_order_acquire);
    *lost = 0;
    if (ring->record_left == 0) {
        if (head == tail)
            return 0;
        ring_record record;
        copy_out(ring, tail, &record, sizeof record);
        tail += sizeof record;
        ring->record_left = record.length;
        ring->lost_told += record.lost;
        *lost = record.lost;
    }
    const uint64_t left = *lost > 0 ? 0 : ring->record_left;
    const size_t count = room < left ? room : (size_t)left;
    copy_out(ring, tail, bytes, count);
    ring->record_left -= count;
    atomic_store_explicit(&ring->tail, tail + count, memory_order_release);
    return count;
}

bool wh_ring_ready(const wh_ring *ring)
{
    return atomic_load_explicit(&ring->head, memory_order_acquire) !=
           atomic_load_explicit(&ring->tail, memory_order_relaxed);
}

uint64_t wh_ring_lost_at_end(wh_ring *ring)
{
    const uint64_t missing = atomic_load_explicit(&ring->dropped, memory_order_acquire) - ring->lost_told;
    ring->lost_told += missing;
    return missing;
}

uint64_t wh_ring_dropped(const wh_ring *ring)
{
    return atomic_load_explicit(&ring->dropped, memory_order_acquire);
}
