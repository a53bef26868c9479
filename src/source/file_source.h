/* The part that all files and pipes share: a list of stretches, one after the other in one run of bytes, delivered
 * in blocks, with everything said that is wrong with them. The drivers only find out where the stretches lie. */
#ifndef WH_FILE_SOURCE_H
#define WH_FILE_SOURCE_H

#include "input.h"
#include "notices.h"
#include "source_impl.h"

#define WH_UNTIL_END UINT64_MAX

typedef struct wh_stretch {
    wh_stream stream;
    uint64_t skip;  /* bytes to pass over, counted from the end of the stretch before */
    uint64_t bytes; /* of samples; WH_UNTIL_END: whatever comes. Need not be whole samples */
} wh_stretch;

typedef struct wh_file_plan {
    wh_input input;        /* taken over, closed with the source, also when creation fails */
    wh_stretch *stretches; /* malloc'ed, at least one; taken over likewise */
    size_t count;
    size_t block_samples; /* 0: a size of our choice */
    bool has_sha512;      /* compare the hash of all bytes of the input with: */
    char sha512[129];     /* lower-case hex */
    wh_notices notices;   /* found by the driver; told after the first stretch has begun */
} wh_file_plan;

/* On failure everything in *plan has been freed. */
wh_status wh_file_source_create(wh_file_plan *plan, wh_source **out, wh_error *error);
/* One stretch from the input's present place; for the formats that hold just that. */
wh_status wh_file_source_single(wh_input *input, const wh_stream *stream, uint64_t bytes, size_t block_samples,
                                wh_source **out, wh_error *error);

#endif
