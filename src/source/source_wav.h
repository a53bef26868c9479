/* I/Q in a WAV file. */
#ifndef WH_SOURCE_WAV_H
#define WH_SOURCE_WAV_H

#include "input.h"
#include "source.h"

/* A WAV file from an open input (taken over, closed on failure). */
wh_status wh_wav_open_input(const wh_source_options *options, wh_input *input, const char *path, wh_source **out,
                            wh_error *error);

#endif
