#include "store_impl.h"

#include <stdio.h>
#include <stdlib.h>

#define APPLICATION_ID "1464357451" /* "WHRK" in ASCII: tells our files from other programs' */

/* One entry per step of the schema: entry k leads from version k to k + 1. Steps that were released never change. */
static const char *const steps[WH_STORE_SCHEMA] = {
    /* What is on record. `dual`: bit k is axle k + 1. 0 kPa and 0 Hz: not on record. */
    "CREATE TABLE unit (name TEXT PRIMARY KEY, kind TEXT NOT NULL, axle_count INTEGER NOT NULL, dual INTEGER NOT NULL,"
    "  first_axle INTEGER NOT NULL, carrier_hz REAL NOT NULL, note TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE wheel (unit TEXT NOT NULL REFERENCES unit ON DELETE CASCADE, position TEXT NOT NULL,"
    "  sensor TEXT NOT NULL, descriptor TEXT NOT NULL, target_kpa REAL NOT NULL, sidewall_max_kpa REAL NOT NULL,"
    "  load_note TEXT NOT NULL, PRIMARY KEY (unit, position)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX wheel_sensor ON wheel (sensor);"
    /* What was on record before: one row for each time a wheel's sensor changed. `after_event`: the last event that was
     * stored before the change, so that a sweep can be judged by the roster of its time without asking any clock. */
    "CREATE TABLE record_change (id INTEGER PRIMARY KEY AUTOINCREMENT, unit TEXT NOT NULL, position TEXT NOT NULL,"
    "  sensor_before TEXT NOT NULL, after_event INTEGER NOT NULL) STRICT;"
    "CREATE INDEX record_change_place ON record_change (unit, position, after_event);"
    /* What happened. AUTOINCREMENT: an id is never used twice, not even after what had it was forgotten. Units are
     * named, not referred to: a sweep outlives a unit that is sold. */
    "CREATE TABLE sweep (id INTEGER PRIMARY KEY AUTOINCREMENT, dated INTEGER NOT NULL, begun_us INTEGER NOT NULL,"
    "  who TEXT NOT NULL, source TEXT NOT NULL, receiver TEXT NOT NULL) STRICT;"
    "CREATE TABLE sweep_unit (sweep INTEGER NOT NULL REFERENCES sweep ON DELETE CASCADE, place INTEGER NOT NULL,"
    "  unit TEXT NOT NULL, PRIMARY KEY (sweep, place)) STRICT, WITHOUT ROWID;"
    "CREATE INDEX sweep_unit_unit ON sweep_unit (unit);"
    "CREATE TABLE event (id INTEGER PRIMARY KEY AUTOINCREMENT, sweep INTEGER NOT NULL REFERENCES sweep ON DELETE "
    "CASCADE,"
    "  at_us INTEGER NOT NULL, kind TEXT NOT NULL, unit TEXT NOT NULL, position TEXT NOT NULL, note TEXT NOT NULL) "
    "STRICT;"
    "CREATE INDEX event_sweep ON event (sweep, id);"
    /* Of the events heard, unknown and bind. NULL: the sensor does not say. */
    "CREATE TABLE heard (event INTEGER PRIMARY KEY REFERENCES event ON DELETE CASCADE, sensor TEXT NOT NULL,"
    "  descriptor TEXT NOT NULL, nickname INTEGER NOT NULL, pressure_state TEXT NOT NULL, gauge_kpa REAL,"
    "  absolute_kpa REAL, temperature_state TEXT NOT NULL, temp_c REAL, battery_low INTEGER, sensor_fault INTEGER NOT "
    "NULL,"
    "  confidence REAL NOT NULL, level_dbfs REAL NOT NULL, snr_db REAL NOT NULL, carrier_hz REAL NOT NULL,"
    "  copies INTEGER NOT NULL) STRICT;"
    "CREATE INDEX heard_sensor ON heard (sensor);",
};

static wh_status read_number(wh_store *store, const char *sql, int64_t *number, wh_error *error)
{
    sqlite3_stmt *statement = wh_store_prepare(store, sql);
    wh_status status = WH_OK;
    if (statement && sqlite3_step(statement) == SQLITE_ROW)
        *number = sqlite3_column_int64(statement, 0);
    else
        status = wh_store_fail(store, error, "read it");
    sqlite3_finalize(statement);
    return status;
}

/* The version of the schema; 0 for a new file. Somebody else's database and a newer program's are refused. */
static wh_status read_version(wh_store *store, int64_t *version, wh_error *error)
{
    int64_t application = 0, tables = 0;
    wh_status status = read_number(store, "PRAGMA application_id", &application, error);
    if (status == WH_OK)
        status = read_number(store, "SELECT count(*) FROM sqlite_schema", &tables, error);
    if (status == WH_OK)
        status = read_number(store, "PRAGMA user_version", version, error);
    if (status != WH_OK)
        return status;
    if (tables > 0 && application != strtoll(APPLICATION_ID, NULL, 10))
        return wh_fail(error, WH_ERR_FORMAT, "name a store of this program, or another file to make one",
                       "%s: is another program's database", store->path);
    if (*version > WH_STORE_SCHEMA)
        return wh_fail(error, WH_ERR_UNSUPPORTED, "use the newer version of this program, or another file",
                       "%s: was written by a newer version (schema %lld, this one knows %d)", store->path,
                       (long long)*version, WH_STORE_SCHEMA);
    return WH_OK;
}

wh_status wh_store_known(wh_store *store, wh_error *error)
{
    int64_t version = 0;
    const wh_status status = read_version(store, &version, error);
    if (status != WH_OK || version == WH_STORE_SCHEMA)
        return status;
    return wh_fail(error, WH_ERR_UNSUPPORTED, "open it once for writing, e.g. with 'wheelhark store check'",
                   "%s: was written by an older version (schema %lld)", store->path, (long long)version);
}

wh_status wh_store_migrate(wh_store *store, wh_error *error)
{
    static const char doing[] = "bring it up to date";
    int64_t version = 0;
    wh_status status = read_version(store, &version, error);
    if (status != WH_OK || version == WH_STORE_SCHEMA)
        return status;
    status = wh_store_begin(store, error, doing);
    if (status != WH_OK)
        return status;
    status = read_version(store, &version, error); /* somebody else may have done it meanwhile */
    for (int64_t step = version; status == WH_OK && step < WH_STORE_SCHEMA; step++) {
        char mark[80];
        snprintf(mark, sizeof mark, "PRAGMA application_id=" APPLICATION_ID "; PRAGMA user_version=%lld",
                 (long long)step + 1);
        status = wh_store_run(store, steps[step], error, doing);
        if (status == WH_OK)
            status = wh_store_run(store, mark, error, doing);
    }
    return wh_store_end(store, status, error, doing);
}
