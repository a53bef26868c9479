/* What the files of the store share: the only place of SQLite. */
#ifndef WH_STORE_IMPL_H
#define WH_STORE_IMPL_H

#include "store.h"

#include <sqlite3.h>

#define WH_STORE_SCHEMA 1 /* PRAGMA user_version of what this program writes */

struct wh_store {
    sqlite3 *db;
    char path[512];
    sqlite3_stmt *append_event, *append_heard; /* prepared once: used for every event */
};

/* The reason of the last failure of `store->db` as status and error; `doing` completes "cannot ...". */
wh_status wh_store_fail(const wh_store *store, wh_error *error, const char *doing);

/* Run statements without results. */
wh_status wh_store_run(wh_store *store, const char *sql, wh_error *error, const char *doing);
/* NULL when it cannot be prepared. */
sqlite3_stmt *wh_store_prepare(wh_store *store, const char *sql);
/* Step a statement that gives no row, and finalize it (NULL: preparing it failed). */
wh_status wh_store_finish(wh_store *store, sqlite3_stmt *statement, wh_error *error, const char *doing);
/* Begin a transaction for writing / end it: commit when `status` is WH_OK, else roll back. Returns the outcome. */
wh_status wh_store_begin(wh_store *store, wh_error *error, const char *doing);
wh_status wh_store_end(wh_store *store, wh_status status, wh_error *error, const char *doing);

/* Make the tables, or change those of an older schema. */
wh_status wh_store_migrate(wh_store *store, wh_error *error);
/* For readers: WH_OK when the schema is this program's. */
wh_status wh_store_known(wh_store *store, wh_error *error);

/* Column as text, "" for NULL, cut to `size` at a character's border. */
void wh_store_text(sqlite3_stmt *statement, int column, char *text, size_t size);

/* A reading in the order of the columns of the table "heard" after its event. */
void wh_store_bind_heard(sqlite3_stmt *statement, int first, const wh_heard *heard);
void wh_store_read_heard(sqlite3_stmt *statement, int first, wh_heard *heard);
#define WH_STORE_HEARD_COLUMNS                                                                                         \
    "sensor, descriptor, nickname, pressure_state, gauge_kpa, absolute_kpa, temperature_state, temp_c, battery_low, "  \
    "sensor_fault, confidence, level_dbfs, snr_db, carrier_hz, copies"

#endif
