/* Small files as a whole. */
#ifndef WH_WHOLE_FILE_H
#define WH_WHOLE_FILE_H

#include "wheelhark/status.h"

#include <stddef.h>

/* Read a file of at most `most` bytes; "-" is standard input. Free *data; a NUL follows it. WH_ERR_NOT_FOUND,
 * WH_ERR_PERMISSION, WH_ERR_LIMIT, WH_ERR_IO, WH_ERR_MEMORY. */
wh_status wh_file_read(const char *path, size_t most, char **data, size_t *length, wh_error *error);
/* Put a file in the place of another at one stroke: whoever reads it, and who loses power meanwhile, has the old or the new
 * one, whole. An existing file keeps its mode; a link is followed. WH_ERR_PERMISSION, WH_ERR_NOT_FOUND (no folder),
 * WH_ERR_IO; then the old file is as it was. */
wh_status wh_file_replace(const char *path, const char *data, size_t length, wh_error *error);
/* Make every folder above a file, for its owner alone: a fleet's IDs and places are nobody else's business. */
wh_status wh_make_folders(const char *path, const char *fix, wh_error *error);

#endif
