#include "store_impl.h"

static const char forgetting[] = "forget readings";

/* Strangers: on no wheel, said by nobody to be anywhere. */
static const char strangers_sql[] =
    "DELETE FROM event WHERE id IN (SELECT event FROM heard WHERE sensor <> ''"
    "   AND sensor NOT IN (SELECT sensor FROM wheel)"
    "   AND sensor NOT IN (SELECT sensor FROM temp.keep)"
    "   AND sensor NOT IN (SELECT sensor FROM heard JOIN event ON event.id = heard.event WHERE kind = 'bind'))"
    " AND (?1 = 0 OR sweep = ?1)";

/* The sensors to keep as a table of this connection. */
static wh_status put_keep(wh_store *store, const char *const *keep, size_t count, wh_error *error)
{
    wh_status status = wh_store_run(store,
                                    "CREATE TABLE IF NOT EXISTS temp.keep (sensor TEXT NOT NULL) STRICT;"
                                    "DELETE FROM temp.keep",
                                    error, forgetting);
    if (status != WH_OK)
        return status;
    sqlite3_stmt *row = wh_store_prepare(store, "INSERT INTO temp.keep VALUES (?)");
    if (!row)
        return wh_store_fail(store, error, forgetting);
    for (size_t i = 0; status == WH_OK && i < count; i++) {
        sqlite3_reset(row);
        sqlite3_bind_text(row, 1, keep[i], -1, SQLITE_STATIC);
        if (sqlite3_step(row) != SQLITE_DONE)
            status = wh_store_fail(store, error, forgetting);
    }
    sqlite3_finalize(row);
    return status;
}

/* End the transaction, then take the overwritten bytes out of the journal too. */
static wh_status done(wh_store *store, sqlite3_stmt *statement, size_t *count, wh_error *error)
{
    wh_status status = wh_store_finish(store, statement, error, forgetting);
    if (status == WH_OK && count)
        *count = (size_t)sqlite3_changes64(store->db);
    status = wh_store_end(store, status, error, forgetting);
    if (status == WH_OK) /* with a reader open the journal is cut later, by whoever closes last: no failure */
        sqlite3_exec(store->db, "PRAGMA wal_checkpoint(TRUNCATE)", NULL, NULL, NULL);
    return status;
}

wh_status wh_store_forget_strangers(wh_store *store, int64_t sweep, const char *const *keep, size_t keep_count,
                                    size_t *count, wh_error *error)
{
    wh_status status = put_keep(store, keep, keep_count, error);
    if (status == WH_OK)
        status = wh_store_begin(store, error, forgetting);
    if (status != WH_OK)
        return status;
    sqlite3_stmt *statement = wh_store_prepare(store, strangers_sql);
    sqlite3_bind_int64(statement, 1, sweep);
    return done(store, statement, count, error);
}

wh_status wh_store_forget_sensor(wh_store *store, const char *sensor, size_t *count, wh_error *error)
{
    wh_status status = wh_store_begin(store, error, forgetting);
    if (status != WH_OK)
        return status;
    sqlite3_stmt *statement =
        wh_store_prepare(store, "DELETE FROM event WHERE id IN (SELECT event FROM heard WHERE sensor = ?)");
    if (statement)
        sqlite3_bind_text(statement, 1, sensor, -1, SQLITE_STATIC);
    return done(store, statement, count, error);
}

wh_status wh_store_forget_before(wh_store *store, int64_t utc_us, size_t *count, wh_error *error)
{
    wh_status status = wh_store_begin(store, error, forgetting);
    if (status != WH_OK)
        return status;
    sqlite3_stmt *statement =
        wh_store_prepare(store, "DELETE FROM sweep WHERE dated = 1 AND "
                                "coalesce((SELECT max(at_us) FROM event WHERE sweep = sweep.id), begun_us) < ?");
    sqlite3_bind_int64(statement, 1, utc_us);
    return done(store, statement, count, error);
}
