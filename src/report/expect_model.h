/* What expect.c reads and expect_compare.c compares. */
#ifndef WH_EXPECT_MODEL_H
#define WH_EXPECT_MODEL_H

#include "expect.h"

#include <jansson.h>
#include <stdbool.h>

typedef struct wh_expected {
    json_t *keys;      /* object: what is compared */
    json_t *tolerance; /* object, or NULL */
    unsigned line;     /* of the file, from 1 */
    bool met;
} wh_expected;

typedef struct wh_heard {
    json_t *keys; /* object: the JSON record */
    bool used;
} wh_heard;

struct wh_expect {
    char name[256];
    wh_expected *expected;
    size_t expected_count, expected_room;
    wh_heard *heard;
    size_t heard_count, heard_room;
};

#endif
