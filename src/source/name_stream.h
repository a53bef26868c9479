/* Small steps that the file drivers share. */
#ifndef WH_NAME_STREAM_H
#define WH_NAME_STREAM_H

#include "source.h"

/* A stretch as far as the options tell: format, rate (NaN: not given), centre (0 when not given), and the name that
 * readings use: the file name without folders. */
wh_stream wh_stream_from_options(const wh_source_options *options, const char *path);
/* Is there such a file (of any kind)? */
bool wh_path_exists(const char *path);

#endif
