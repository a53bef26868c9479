/* SigMF archives: a POSIX tar file (ustar, with pax and GNU long names) that holds a recording, read in place. */
#ifndef WH_SIGMF_ARCHIVE_H
#define WH_SIGMF_ARCHIVE_H

#include "input.h"

typedef struct wh_archive_member {
    char name[264];
    uint64_t from, size; /* place of its bytes in the archive */
} wh_archive_member;

#define WH_ARCHIVE_MEMBERS_MAX 1000

typedef struct wh_archive {
    wh_archive_member *members; /* plain files, in the order of the archive */
    size_t count;
    bool truncated; /* the last member reaches beyond the end of the file; its size has been cut */
} wh_archive;

/* List the members of a regular file. Free with wh_archive_free. FORMAT when it is no tar file. */
wh_status wh_archive_read(wh_input *input, wh_archive *archive, wh_error *error);
void wh_archive_free(wh_archive *archive);

#endif
