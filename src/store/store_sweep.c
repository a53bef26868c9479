#include "store_impl.h"
#include "sweep_list.h"

#include <stdlib.h>
#include <string.h>

static const char beginning[] = "begin a sweep", appending[] = "store what was heard", loading[] = "read a sweep";

static wh_status insert_units(wh_store *store, const wh_sweep *sweep, wh_error *error)
{
    sqlite3_stmt *row = wh_store_prepare(store, "INSERT INTO sweep_unit VALUES (?,?,?)");
    wh_status status = row ? WH_OK : wh_store_fail(store, error, beginning);
    for (size_t i = 0; status == WH_OK && i < sweep->unit_count; i++) {
        sqlite3_reset(row);
        sqlite3_bind_int64(row, 1, sweep->id);
        sqlite3_bind_int64(row, 2, (int64_t)i);
        sqlite3_bind_text(row, 3, sweep->units[i], -1, SQLITE_STATIC);
        if (sqlite3_step(row) != SQLITE_DONE)
            status = wh_store_fail(store, error, beginning);
    }
    sqlite3_finalize(row);
    return status;
}

wh_status wh_store_sweep_begin(wh_store *store, wh_sweep *sweep, wh_error *error)
{
    wh_status status = wh_store_begin(store, error, beginning);
    if (status != WH_OK)
        return status;
    sqlite3_stmt *row =
        wh_store_prepare(store, "INSERT INTO sweep (dated, begun_us, who, source, receiver) VALUES (?,?,?,?,?)");
    if (row) {
        sqlite3_bind_int(row, 1, sweep->dated);
        sqlite3_bind_int64(row, 2, sweep->begun_us);
        sqlite3_bind_text(row, 3, sweep->who, -1, SQLITE_STATIC);
        sqlite3_bind_text(row, 4, sweep->source, -1, SQLITE_STATIC);
        sqlite3_bind_text(row, 5, sweep->receiver, -1, SQLITE_STATIC);
    }
    status = wh_store_finish(store, row, error, beginning);
    if (status == WH_OK) {
        sweep->id = sqlite3_last_insert_rowid(store->db);
        status = insert_units(store, sweep, error);
    }
    status = wh_store_end(store, status, error, beginning);
    if (status != WH_OK)
        sweep->id = 0;
    return status;
}

/* Has the event something in `heard`? */
static bool carries_heard(wh_event_kind kind)
{
    return kind == WH_EVENT_HEARD || kind == WH_EVENT_UNKNOWN || kind == WH_EVENT_BIND;
}

static wh_status prepare_append(wh_store *store, wh_error *error)
{
    if (!store->append_event)
        store->append_event = wh_store_prepare(
            store, "INSERT INTO event (sweep, at_us, kind, unit, position, note) VALUES (?,?,?,?,?,?)");
    if (store->append_event && !store->append_heard)
        store->append_heard = wh_store_prepare(store, "INSERT INTO heard (event, " WH_STORE_HEARD_COLUMNS
                                                      ") VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
    return store->append_heard ? WH_OK : wh_store_fail(store, error, appending);
}

/* Not reset at once: the reason of a failure would be gone. */
static wh_status step_append(wh_store *store, sqlite3_stmt *statement, wh_error *error)
{
    const wh_status status = sqlite3_step(statement) == SQLITE_DONE ? WH_OK : wh_store_fail(store, error, appending);
    sqlite3_reset(statement);
    sqlite3_clear_bindings(statement);
    return status;
}

static wh_status insert_event(wh_store *store, int64_t sweep, const wh_event *event, int64_t *id, wh_error *error)
{
    char position[WH_POSITION_SIZE];
    sqlite3_stmt *row = store->append_event;
    sqlite3_bind_int64(row, 1, sweep);
    sqlite3_bind_int64(row, 2, event->at_us);
    sqlite3_bind_text(row, 3, wh_event_kind_name(event->kind), -1, SQLITE_STATIC);
    sqlite3_bind_text(row, 4, event->unit, -1, SQLITE_TRANSIENT);
    sqlite3_bind_text(row, 5, wh_position_text(position, event->position), -1, SQLITE_TRANSIENT);
    sqlite3_bind_text(row, 6, event->text, -1, SQLITE_TRANSIENT);
    wh_status status = step_append(store, row, error);
    if (status != WH_OK)
        return status;
    *id = sqlite3_last_insert_rowid(store->db);
    if (!carries_heard(event->kind))
        return WH_OK;
    sqlite3_bind_int64(store->append_heard, 1, *id);
    wh_store_bind_heard(store->append_heard, 2, &event->heard);
    return step_append(store, store->append_heard, error);
}

wh_status wh_store_sweep_append(wh_store *store, int64_t sweep, wh_event *event, wh_error *error)
{
    int64_t id = 0;
    wh_status status = prepare_append(store, error);
    if (status == WH_OK)
        status = wh_store_begin(store, error, appending);
    if (status != WH_OK)
        return status;
    status = wh_store_end(store, insert_event(store, sweep, event, &id, error), error, appending);
    if (status == WH_OK)
        event->id = id;
    return status;
}

static wh_status load_units(wh_store *store, int64_t id, char (**units)[WH_UNIT_NAME_SIZE], size_t *count,
                            wh_error *error)
{
    sqlite3_stmt *rows = wh_store_prepare(
        store, "SELECT unit, (SELECT count(*) FROM sweep_unit WHERE sweep = ?1) FROM sweep_unit WHERE sweep = ?1 "
               "ORDER BY place");
    wh_status status = rows ? WH_OK : wh_store_fail(store, error, loading);
    sqlite3_bind_int64(rows, 1, id);
    *count = 0;
    int code = SQLITE_DONE;
    while (status == WH_OK && (code = sqlite3_step(rows)) == SQLITE_ROW) {
        if (*count == 0)
            *units = calloc((size_t)sqlite3_column_int64(rows, 1) + 1, sizeof **units);
        if (!*units)
            status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
        else
            wh_store_text(rows, 0, (*units)[(*count)++], sizeof **units);
    }
    if (status == WH_OK && code != SQLITE_DONE)
        status = wh_store_fail(store, error, loading);
    sqlite3_finalize(rows);
    return status;
}

static wh_status load_head(wh_store *store, wh_sweep *sweep, wh_error *error)
{
    sqlite3_stmt *row =
        wh_store_prepare(store, "SELECT dated, begun_us, who, source, receiver FROM sweep WHERE id = ?");
    sqlite3_bind_int64(row, 1, sweep->id);
    const int code = row ? sqlite3_step(row) : SQLITE_ERROR;
    wh_status status = WH_OK;
    if (code == SQLITE_ROW) {
        sweep->dated = sqlite3_column_int(row, 0) != 0;
        sweep->begun_us = sqlite3_column_int64(row, 1);
        wh_store_text(row, 2, sweep->who, sizeof sweep->who);
        wh_store_text(row, 3, sweep->source, sizeof sweep->source);
        wh_store_text(row, 4, sweep->receiver, sizeof sweep->receiver);
    } else if (code == SQLITE_DONE) {
        status = wh_fail(error, WH_ERR_NOT_FOUND, "'wheelhark sweep --list' shows the sweeps there are",
                         "there is no sweep %lld", (long long)sweep->id);
    } else {
        status = wh_store_fail(store, error, loading);
    }
    sqlite3_finalize(row);
    return status;
}

/* An event of a kind that this program does not know is left out: a file is not refused for one of them. */
static wh_status load_event(sqlite3_stmt *row, wh_sweep *sweep)
{
    wh_event event = {.id = sqlite3_column_int64(row, 0), .at_us = sqlite3_column_int64(row, 1)};
    const char *kind = (const char *)sqlite3_column_text(row, 2);
    if (!kind || !wh_event_kind_parse(kind, &event.kind))
        return WH_OK;
    wh_store_text(row, 3, event.unit, sizeof event.unit);
    const char *position = (const char *)sqlite3_column_text(row, 4);
    if (!position || !wh_position_parse(position, &event.position))
        event.position = (wh_position){0};
    wh_store_text(row, 5, event.text, sizeof event.text);
    if (sqlite3_column_type(row, 6) != SQLITE_NULL)
        wh_store_read_heard(row, 6, &event.heard);
    return wh_sweep_add(sweep, &event);
}

static wh_status load_events(wh_store *store, wh_sweep *sweep, wh_error *error)
{
    sqlite3_stmt *rows = wh_store_prepare(store, "SELECT id, at_us, kind, unit, position, note, " WH_STORE_HEARD_COLUMNS
                                                 " FROM event LEFT JOIN heard ON heard.event = event.id "
                                                 "WHERE sweep = ? ORDER BY id");
    wh_status status = rows ? WH_OK : wh_store_fail(store, error, loading);
    sqlite3_bind_int64(rows, 1, sweep->id);
    int code = SQLITE_DONE;
    while (status == WH_OK && (code = sqlite3_step(rows)) == SQLITE_ROW)
        if (load_event(rows, sweep) != WH_OK)
            status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK && code != SQLITE_DONE)
        status = wh_store_fail(store, error, loading);
    sqlite3_finalize(rows);
    return status;
}

wh_status wh_store_sweep_load(wh_store *store, int64_t id, wh_sweep **out, wh_error *error)
{
    *out = NULL;
    wh_sweep *sweep = calloc(1, sizeof *sweep);
    if (!sweep)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    sweep->id = id;
    wh_status status = wh_store_run(store, "BEGIN", error, loading);
    if (status == WH_OK)
        status = load_head(store, sweep, error);
    if (status == WH_OK)
        status = load_units(store, id, &sweep->units, &sweep->unit_count, error);
    if (status == WH_OK)
        status = load_events(store, sweep, error);
    status = wh_store_end(store, status, error, loading);
    if (status != WH_OK)
        wh_sweep_free(&sweep);
    *out = sweep;
    return status;
}
