#include "store_impl.h"

static const char renaming[] = "rename a sensor";

/* One UPDATE with the old name as ?1 and the new one as ?2. */
static wh_status update(wh_store *store, const char *sql, const char *nickname, const char *sensor, size_t *count,
                        wh_error *error)
{
    sqlite3_stmt *statement = wh_store_prepare(store, sql);
    if (statement) {
        sqlite3_bind_text(statement, 1, nickname, -1, SQLITE_STATIC);
        sqlite3_bind_text(statement, 2, sensor, -1, SQLITE_STATIC);
    }
    const wh_status status = wh_store_finish(store, statement, error, renaming);
    if (status == WH_OK && count)
        *count = (size_t)sqlite3_changes64(store->db);
    return status;
}

wh_status wh_store_rename(wh_store *store, const char *nickname, const char *sensor, size_t *count, wh_error *error)
{
    wh_status status = wh_store_begin(store, error, renaming);
    if (status != WH_OK)
        return status;
    status =
        update(store, "UPDATE heard SET sensor = ?2, nickname = 0 WHERE sensor = ?1", nickname, sensor, count, error);
    if (status == WH_OK)
        status = update(store, "UPDATE wheel SET sensor = ?2 WHERE sensor = ?1", nickname, sensor, NULL, error);
    if (status == WH_OK)
        status = update(store, "UPDATE record_change SET sensor_before = ?2 WHERE sensor_before = ?1", nickname, sensor,
                        NULL, error);
    return wh_store_end(store, status, error, renaming);
}
