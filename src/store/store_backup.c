#include "store_impl.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define PAGES_AT_A_TIME -1 /* all: readers and writers go on in WAL mode, and the copy is of one instant */

static wh_status copy_failed(const char *path, int code, wh_error *error)
{
    return wh_fail(error, WH_ERR_IO, "make room on the disk or name another place", "%s: cannot be written: %s", path,
                   code == SQLITE_FULL ? "the disk is full" : sqlite3_errstr(code));
}

/* The copy is one file that needs no journal beside it. */
static int copy_into(wh_store *store, sqlite3 *copy)
{
    sqlite3_backup *backup = sqlite3_backup_init(copy, "main", store->db, "main");
    if (!backup)
        return sqlite3_extended_errcode(copy);
    int code = sqlite3_backup_step(backup, PAGES_AT_A_TIME);
    const int finished = sqlite3_backup_finish(backup);
    if (code == SQLITE_DONE)
        code = finished;
    if (code == SQLITE_OK)
        code = sqlite3_exec(copy, "PRAGMA journal_mode=DELETE", NULL, NULL, NULL);
    return code;
}

wh_status wh_store_backup(wh_store *store, const char *path, wh_error *error)
{
    if (access(path, F_OK) == 0)
        return wh_fail(error, WH_ERR_ARGUMENT, "name a file that does not exist yet", "%s: exists already", path);
    char part[600];
    if (snprintf(part, sizeof part, "%s.part", path) >= (int)sizeof part)
        return wh_fail(error, WH_ERR_LIMIT, "use a shorter path", "the path of the backup is too long");
    remove(part);
    sqlite3 *copy = NULL;
    int code = sqlite3_open_v2(part, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
    if (code == SQLITE_OK)
        code = copy_into(store, copy);
    sqlite3_close(copy);
    /* Whoever sees a file of that name sees a whole backup. */
    if (code == SQLITE_OK && rename(part, path) == 0)
        return WH_OK;
    const int reason = errno;
    remove(part);
    if (code == SQLITE_OK)
        return wh_fail(error, WH_ERR_IO, "name another file", "%s: %s", path, strerror(reason));
    return copy_failed(path, code, error);
}
