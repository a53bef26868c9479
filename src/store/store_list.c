#include "store_impl.h"

#include <stdlib.h>
#include <string.h>

static const char listing[] = "list the sweeps", looking_back[] = "read past readings";

/* The end of a sweep is its last event: what comes after an "end" reopens it. */
static const char list_sql[] =
    "SELECT s.id, s.dated, s.begun_us, s.who, s.source,"
    " (SELECT group_concat(unit, ', ') FROM (SELECT unit FROM sweep_unit WHERE sweep = s.id ORDER BY place)),"
    " (SELECT count(*) FROM sweep_unit WHERE sweep = s.id),"
    " (SELECT count(*) FROM event WHERE sweep = s.id),"
    " last.at_us, last.kind = 'end' AS ended "
    "FROM sweep s LEFT JOIN event last ON last.id = (SELECT max(id) FROM event WHERE sweep = s.id) "
    "WHERE (?1 IS NULL OR EXISTS (SELECT 1 FROM sweep_unit WHERE sweep = s.id AND unit = ?1))"
    "  AND (?2 = 0 OR ended IS NOT 1) "
    "ORDER BY s.id DESC LIMIT ?3";

static void read_head(sqlite3_stmt *row, wh_sweep_head *head)
{
    *head = (wh_sweep_head){.id = sqlite3_column_int64(row, 0),
                            .dated = sqlite3_column_int(row, 1) != 0,
                            .begun_us = sqlite3_column_int64(row, 2),
                            .unit_count = (size_t)sqlite3_column_int64(row, 6),
                            .event_count = (size_t)sqlite3_column_int64(row, 7),
                            .ended = sqlite3_column_int(row, 9) != 0};
    wh_store_text(row, 3, head->who, sizeof head->who);
    wh_store_text(row, 4, head->source, sizeof head->source);
    wh_store_text(row, 5, head->units, sizeof head->units - 3);
    if (strlen(head->units) < (size_t)sqlite3_column_bytes(row, 5))
        strcat(head->units, "...");
    head->last_us = head->event_count > 0 ? sqlite3_column_int64(row, 8) : head->begun_us;
}

/* Room for one more element of `size` bytes behind `count`: grows by doubling at powers of two. */
static void *room(void *items, size_t count, size_t size)
{
    return (count & (count - 1)) == 0 ? realloc(items, (count ? 2 * count : 1) * size) : items;
}

wh_status wh_store_sweep_list(wh_store *store, const wh_sweep_filter *filter, wh_sweep_head **out, size_t *count,
                              wh_error *error)
{
    *out = NULL;
    *count = 0;
    sqlite3_stmt *rows = wh_store_prepare(store, list_sql);
    if (!rows)
        return wh_store_fail(store, error, listing);
    if (filter->unit)
        sqlite3_bind_text(rows, 1, filter->unit, -1, SQLITE_STATIC);
    sqlite3_bind_int(rows, 2, filter->open_only);
    sqlite3_bind_int64(rows, 3, filter->most ? (int64_t)filter->most : -1);
    wh_status status = WH_OK;
    int code = SQLITE_DONE;
    while (status == WH_OK && (code = sqlite3_step(rows)) == SQLITE_ROW) {
        wh_sweep_head *more = room(*out, *count, sizeof **out);
        if (!more) {
            status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
            break;
        }
        *out = more;
        read_head(rows, &more[(*count)++]);
    }
    if (status == WH_OK && code != SQLITE_DONE)
        status = wh_store_fail(store, error, listing);
    sqlite3_finalize(rows);
    if (status != WH_OK) {
        free(*out);
        *out = NULL;
        *count = 0;
    }
    return status;
}

/* Readings of one sensor, added to *out. */
static wh_status past_of(wh_store *store, sqlite3_stmt *rows, const char *sensor, wh_past **out, size_t *count,
                         wh_error *error)
{
    sqlite3_reset(rows);
    sqlite3_bind_text(rows, 1, sensor, -1, SQLITE_STATIC);
    int code;
    while ((code = sqlite3_step(rows)) == SQLITE_ROW) {
        wh_past *more = room(*out, *count, sizeof **out);
        if (!more)
            return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
        *out = more;
        more[*count].at_us = sqlite3_column_int64(rows, 0);
        wh_store_read_heard(rows, 1, &more[(*count)++].heard);
    }
    return code == SQLITE_DONE ? WH_OK : wh_store_fail(store, error, looking_back);
}

static int by_time(const void *a, const void *b)
{
    const wh_past *x = a, *y = b;
    if (x->at_us != y->at_us)
        return x->at_us < y->at_us ? -1 : 1;
    return strcmp(x->heard.sensor, y->heard.sensor);
}

wh_status wh_store_past(wh_store *store, const char *const *sensors, size_t sensor_count, wh_past **out, size_t *count,
                        wh_error *error)
{
    *out = NULL;
    *count = 0;
    sqlite3_stmt *rows = wh_store_prepare(
        store, "SELECT at_us, " WH_STORE_HEARD_COLUMNS " FROM heard JOIN event ON event.id = heard.event "
               "JOIN sweep ON sweep.id = event.sweep WHERE sensor = ? AND kind = 'heard' AND dated = 1 "
               "ORDER BY at_us, event.id");
    wh_status status = rows ? WH_OK : wh_store_fail(store, error, looking_back);
    for (size_t i = 0; status == WH_OK && i < sensor_count; i++)
        status = past_of(store, rows, sensors[i], out, count, error);
    sqlite3_finalize(rows);
    if (status != WH_OK) {
        free(*out);
        *out = NULL;
        *count = 0;
    } else if (*count > 1) {
        qsort(*out, *count, sizeof **out, by_time);
    }
    return status;
}

wh_status wh_store_last_repair(wh_store *store, const char *unit, int64_t *at_us, wh_error *error)
{
    *at_us = 0;
    sqlite3_stmt *row = wh_store_prepare(store, "SELECT max(e.at_us) FROM event e JOIN sweep s ON s.id = e.sweep "
                                                "WHERE e.kind = 'repaired' AND e.unit = ?1 AND s.dated <> 0");
    if (!row)
        return wh_store_fail(store, error, looking_back);
    sqlite3_bind_text(row, 1, unit, -1, SQLITE_STATIC);
    const bool read = sqlite3_step(row) == SQLITE_ROW;
    const wh_status status = read ? WH_OK : wh_store_fail(store, error, looking_back);
    if (read)
        *at_us = sqlite3_column_int64(row, 0); /* 0 for NULL */
    sqlite3_finalize(row);
    return status;
}
