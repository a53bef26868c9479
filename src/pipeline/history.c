#include "history.h"

#include <stdlib.h>
#include <string.h>

bool wh_history_init(wh_history *history, wh_iq_format format, size_t capacity)
{
    *history = (wh_history){.format = format, .capacity = capacity};
    history->bytes = malloc(capacity * wh_iq_bytes(format));
    return history->bytes != NULL;
}

void wh_history_free(wh_history *history)
{
    free(history->bytes);
    *history = (wh_history){0};
}

void wh_history_append(wh_history *history, const void *samples, size_t count)
{
    const size_t size = wh_iq_bytes(history->format);
    const unsigned char *from = samples;
    while (count > 0) {
        const size_t at = (size_t)(history->end % history->capacity);
        const size_t room = history->capacity - at, step = count < room ? count : room;
        memcpy(history->bytes + at * size, from, step * size);
        history->end += step;
        from += step * size;
        count -= step;
    }
}

void wh_history_read(const wh_history *history, int64_t first, size_t count, float *out)
{
    const size_t size = wh_iq_bytes(history->format);
    const int64_t oldest = history->end > history->capacity ? (int64_t)(history->end - history->capacity) : 0;
    memset(out, 0, 2 * count * sizeof *out);
    int64_t from = first > oldest ? first : oldest;
    const int64_t last = first + (int64_t)count, end = last < (int64_t)history->end ? last : (int64_t)history->end;
    while (from < end) {
        const size_t at = (size_t)((uint64_t)from % history->capacity);
        const size_t room = history->capacity - at;
        const size_t step = (size_t)(end - from) < room ? (size_t)(end - from) : room;
        wh_iq_to_float(history->format, history->bytes + at * size, step, out + 2 * (from - first));
        from += (int64_t)step;
    }
}
