#include "store_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BUSY_MS 5000 /* another process's transaction is one event or one roster: it never takes this long */

/* What went wrong, as people can act on it. */
static wh_status status_of(int code)
{
    switch (code & 0xFF) {
    case SQLITE_CORRUPT: return WH_ERR_DATA;
    case SQLITE_NOTADB: return WH_ERR_FORMAT;
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return WH_ERR_BUSY;
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH: return WH_ERR_PERMISSION;
    case SQLITE_NOMEM: return WH_ERR_MEMORY;
    default: return WH_ERR_IO;
    }
}

static const char *fix_of(int code)
{
    switch (code & 0xFF) {
    case SQLITE_CORRUPT:
        return "keep a copy of the file, put the last backup in its place ('wheelhark store backup' makes them), or "
               "move it away to begin a new one";
    case SQLITE_NOTADB: return "name a store of this program, or another file to make one";
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return "another program writes to it: end that one, or try again";
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH: return "make the file and its folder writable, or name another file";
    case SQLITE_FULL: return "make room on the disk and start again: what was stored before is kept";
    case SQLITE_CANTOPEN: return "check the folder, its permissions and the free space";
    default: return "check the disk; what was stored before is kept";
    }
}

static const char *reason_of(sqlite3 *db, int code)
{
    switch (code & 0xFF) {
    case SQLITE_FULL: return "the disk is full";
    case SQLITE_READONLY: return "it is read-only";
    case SQLITE_CORRUPT: return "it is damaged";
    case SQLITE_NOTADB: return "it is no store of this program";
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return "it is in use";
    default: return db ? sqlite3_errmsg(db) : sqlite3_errstr(code);
    }
}

wh_status wh_store_fail(const wh_store *store, wh_error *error, const char *doing)
{
    const int code = store->db ? sqlite3_extended_errcode(store->db) : SQLITE_NOMEM;
    return wh_fail(error, status_of(code), fix_of(code), "%s: cannot %s: %s", store->path, doing,
                   reason_of(store->db, code));
}

wh_status wh_store_run(wh_store *store, const char *sql, wh_error *error, const char *doing)
{
    return sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK ? WH_OK : wh_store_fail(store, error, doing);
}

sqlite3_stmt *wh_store_prepare(wh_store *store, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    return sqlite3_prepare_v2(store->db, sql, -1, &statement, NULL) == SQLITE_OK ? statement : NULL;
}

wh_status wh_store_finish(wh_store *store, sqlite3_stmt *statement, wh_error *error, const char *doing)
{
    if (!statement || sqlite3_step(statement) != SQLITE_DONE) {
        const wh_status status = wh_store_fail(store, error, doing);
        sqlite3_finalize(statement);
        return status;
    }
    sqlite3_finalize(statement);
    return WH_OK;
}

wh_status wh_store_begin(wh_store *store, wh_error *error, const char *doing)
{
    /* IMMEDIATE: a transaction that begins as a reader could find at its first write that somebody else wrote. */
    return wh_store_run(store, "BEGIN IMMEDIATE", error, doing);
}

wh_status wh_store_end(wh_store *store, wh_status status, wh_error *error, const char *doing)
{
    if (status == WH_OK)
        status = wh_store_run(store, "COMMIT", error, doing);
    if (status != WH_OK && !sqlite3_get_autocommit(store->db))
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

void wh_store_text(sqlite3_stmt *statement, int column, char *text, size_t size)
{
    const char *value = (const char *)sqlite3_column_text(statement, column);
    size_t length = value ? strlen(value) : 0;
    if (length >= size) {
        length = size - 1;
        while (length > 0 && ((unsigned char)value[length] & 0xC0) == 0x80)
            length--;
    }
    memcpy(text, value ? value : "", length);
    text[length] = '\0';
}

/* full_fsync and FULL: a committed event survives the loss of power, not only the death of the process. secure_delete:
 * what is forgotten is overwritten. */
static wh_status set_up(wh_store *store, wh_store_access access, wh_error *error)
{
    sqlite3_busy_timeout(store->db, BUSY_MS);
    sqlite3_extended_result_codes(store->db, 1);
    const char *common = "PRAGMA foreign_keys=ON; PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON;";
    wh_status status = wh_store_run(store, common, error, "open it");
    if (status == WH_OK && access == WH_STORE_WRITE)
        status = wh_store_run(store, "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON;",
                              error, "write to it");
    return status;
}

/* A store in a folder nobody may write to can only be read as a file that does not change. */
static int open_unchanging(const char *path, sqlite3 **db)
{
    char *uri = sqlite3_mprintf("file:%s?immutable=1", path);
    const int code = uri && !strpbrk(path, "?#%")
                         ? sqlite3_open_v2(uri, db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL)
                         : SQLITE_CANTOPEN;
    sqlite3_free(uri);
    return code;
}

static bool readable(sqlite3 *db)
{
    return sqlite3_exec(db, "SELECT count(*) FROM sqlite_schema", NULL, NULL, NULL) == SQLITE_OK;
}

static wh_status open_file(wh_store *store, wh_store_access access, wh_error *error)
{
    struct stat info;
    const bool there = stat(store->path, &info) == 0;
    if (access == WH_STORE_READ && !there)
        return wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark roster import FILE.csv' begins one",
                       "%s: there is no store", store->path);
    if (there && !S_ISREG(info.st_mode))
        return wh_fail(error, WH_ERR_FORMAT, "name a file", "%s: is not a file", store->path);
    const int flags = access == WH_STORE_READ ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
    int code = sqlite3_open_v2(store->path, &store->db, flags, NULL);
    if (code == SQLITE_OK && access == WH_STORE_READ && !readable(store->db) &&
        (sqlite3_errcode(store->db) == SQLITE_CANTOPEN || sqlite3_errcode(store->db) == SQLITE_READONLY)) {
        sqlite3_close(store->db);
        store->db = NULL;
        code = open_unchanging(store->path, &store->db);
    }
    if (code == SQLITE_OK)
        return WH_OK;
    const wh_status status = wh_store_fail(store, error, "open it");
    return !there && (code & 0xFF) == SQLITE_CANTOPEN
               ? wh_fail(error, WH_ERR_NOT_FOUND, "make the folder, or name another file", "%s: cannot be made",
                         store->path)
               : status;
}

wh_status wh_store_open(const char *path, wh_store_access access, wh_store **out, wh_error *error)
{
    *out = NULL;
    wh_store *store = calloc(1, sizeof *store);
    if (!store)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (snprintf(store->path, sizeof store->path, "%s", path) >= (int)sizeof store->path) {
        free(store);
        return wh_fail(error, WH_ERR_LIMIT, "use a shorter path", "the path of the store is too long");
    }
    wh_status status = open_file(store, access, error);
    if (status == WH_OK)
        status = set_up(store, access, error);
    if (status == WH_OK)
        status = access == WH_STORE_WRITE ? wh_store_migrate(store, error) : wh_store_known(store, error);
    if (status != WH_OK)
        wh_store_close(&store);
    *out = store;
    return status;
}

void wh_store_close(wh_store **store)
{
    if (!*store)
        return;
    sqlite3_finalize((*store)->append_event);
    sqlite3_finalize((*store)->append_heard);
    sqlite3_close((*store)->db);
    free(*store);
    *store = NULL;
}

wh_status wh_store_check(wh_store *store, wh_error *error)
{
    sqlite3_stmt *statement = wh_store_prepare(store, "PRAGMA integrity_check(1)");
    if (!statement || sqlite3_step(statement) != SQLITE_ROW) {
        const wh_status status = wh_store_fail(store, error, "look through it");
        sqlite3_finalize(statement);
        return status;
    }
    char said[200];
    wh_store_text(statement, 0, said, sizeof said);
    sqlite3_finalize(statement);
    if (strcmp(said, "ok") == 0)
        return WH_OK;
    return wh_fail(error, WH_ERR_DATA, fix_of(SQLITE_CORRUPT), "%s: damaged: %s", store->path, said);
}
