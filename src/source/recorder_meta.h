/* The metadata of a recording that is being made. For the recorder only. */
#ifndef WH_RECORDER_META_H
#define WH_RECORDER_META_H

#include "recorder.h"

#include <stdio.h>

typedef struct wh_recorder_piece {
    uint64_t file_start, count; /* samples of the file */
    uint64_t index;             /* of its first sample since the first stretch began */
    double centre_hz;           /* 0: unknown */
    bool has_time;
    int64_t utc_us;
} wh_recorder_piece;

typedef struct wh_recorder_record {
    const wh_recorder_options *options;
    wh_stream stream;                /* the first one */
    const wh_recorder_piece *pieces; /* in order */
    size_t piece_count;
    const wh_recorder_burst *bursts; /* in any order */
    size_t burst_count;
    uint64_t lost, left_out;
    const char *sha512; /* NULL: not known yet */
} wh_recorder_record;

/* As JSON text of *length bytes, the caller's to free; NULL when memory is out. */
char *wh_recorder_meta_text(const wh_recorder_record *record, size_t *length);
/* More bytes than the metadata can have with so many pieces and bursts. */
size_t wh_recorder_meta_room(size_t pieces, size_t bursts);

#endif
