/* Bare samples: nothing but I and Q, one after the other. */
#ifndef WH_SOURCE_BARE_H
#define WH_SOURCE_BARE_H

#include "input.h"
#include "source.h"

/* Bare samples from an open input (taken over, closed on failure). `path` is what the input is called. */
wh_status wh_bare_open_input(const wh_source_options *options, wh_input *input, const char *path, wh_source **out,
                             wh_error *error);

#endif
