/* A SigMF archive: a POSIX ustar file with one recording's description and samples (SigMF specification, "SigMF Archive"). */
#ifndef WH_ARCHIVE_WRITER_H
#define WH_ARCHIVE_WRITER_H

#include "text_buffer.h"

/* Append the whole archive to `out`: NAME/NAME.sigmf-meta, then NAME/NAME.sigmf-data. `name`: at most 40 bytes, no slash. */
void wh_archive_write(wh_text *out, const char *name, const char *meta, size_t meta_bytes, const void *samples,
                      size_t sample_bytes);

#endif
