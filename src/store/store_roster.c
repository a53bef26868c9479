#include "store_impl.h"

#include <stdio.h>
#include <stdlib.h>

static const char loading[] = "read the roster", saving[] = "save the roster";

/* The axles of a unit as they are stored: bit k for a dual axle k + 1. */
static int dual_bits(const wh_unit *unit)
{
    int bits = 0;
    for (unsigned axle = 0; axle < unit->axle_count; axle++)
        bits |= unit->dual[axle] ? 1 << axle : 0;
    return bits;
}

static wh_status save_wheel(wh_store *store, sqlite3_stmt *statement, const wh_unit *unit, const wh_wheel *wheel,
                            wh_error *error)
{
    char position[WH_POSITION_SIZE];
    sqlite3_reset(statement);
    sqlite3_bind_text(statement, 1, unit->name, -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 2, wh_position_text(position, wheel->position), -1, SQLITE_TRANSIENT);
    sqlite3_bind_text(statement, 3, wheel->sensor, -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 4, wheel->descriptor, -1, SQLITE_STATIC);
    sqlite3_bind_double(statement, 5, wheel->target.kpa);
    sqlite3_bind_double(statement, 6, wheel->sidewall_max.kpa);
    sqlite3_bind_text(statement, 7, wheel->load_note, -1, SQLITE_STATIC);
    return sqlite3_step(statement) == SQLITE_DONE ? WH_OK : wh_store_fail(store, error, saving);
}

static wh_status save_unit(wh_store *store, sqlite3_stmt *into_unit, sqlite3_stmt *into_wheel, const wh_unit *unit,
                           wh_error *error)
{
    sqlite3_reset(into_unit);
    sqlite3_bind_text(into_unit, 1, unit->name, -1, SQLITE_STATIC);
    sqlite3_bind_text(into_unit, 2, wh_unit_kind_name(unit->kind), -1, SQLITE_STATIC);
    sqlite3_bind_int(into_unit, 3, (int)unit->axle_count);
    sqlite3_bind_int(into_unit, 4, dual_bits(unit));
    sqlite3_bind_int(into_unit, 5, (int)unit->first_axle);
    sqlite3_bind_double(into_unit, 6, unit->carrier_hz);
    sqlite3_bind_text(into_unit, 7, unit->note, -1, SQLITE_STATIC);
    if (sqlite3_step(into_unit) != SQLITE_DONE)
        return wh_store_fail(store, error, saving);
    wh_status status = WH_OK;
    for (unsigned i = 0; status == WH_OK && i < unit->wheel_count; i++)
        status = save_wheel(store, into_wheel, unit, &unit->wheels[i], error);
    return status;
}

/* Remember which sensors were on record until now. A wheel that was not there had none. */
static const char remember_before[] = "CREATE TEMP TABLE was AS SELECT unit, position, sensor FROM wheel";
static const char remember_after[] =
    "INSERT INTO record_change (unit, position, sensor_before, after_event) "
    "SELECT now.unit, now.position, coalesce(was.sensor, ''), "
    "  coalesce((SELECT seq FROM sqlite_sequence WHERE name = 'event'), 0) "
    "FROM wheel now LEFT JOIN temp.was was ON was.unit = now.unit AND was.position = now.position "
    "WHERE coalesce(was.sensor, '') <> now.sensor;"
    "DROP TABLE temp.was";

wh_status wh_store_roster_save(wh_store *store, const wh_roster *roster, wh_error *error)
{
    wh_status status = wh_store_begin(store, error, saving);
    if (status != WH_OK)
        return status;
    status = wh_store_run(store, remember_before, error, saving);
    if (status == WH_OK)
        status = wh_store_run(store, "DELETE FROM wheel; DELETE FROM unit", error, saving);
    sqlite3_stmt *into_unit = wh_store_prepare(store, "INSERT INTO unit VALUES (?,?,?,?,?,?,?)");
    sqlite3_stmt *into_wheel = wh_store_prepare(store, "INSERT INTO wheel VALUES (?,?,?,?,?,?,?)");
    if (status == WH_OK && (!into_unit || !into_wheel))
        status = wh_store_fail(store, error, saving);
    for (size_t i = 0; status == WH_OK && i < wh_roster_count(roster); i++)
        status = save_unit(store, into_unit, into_wheel, wh_roster_at(roster, i), error);
    sqlite3_finalize(into_unit);
    sqlite3_finalize(into_wheel);
    if (status == WH_OK)
        status = wh_store_run(store, remember_after, error, saving);
    return wh_store_end(store, status, error, saving);
}

static wh_status damaged(const wh_store *store, const char *unit, wh_error *error)
{
    return wh_fail(error, WH_ERR_DATA, "import the roster again: 'wheelhark roster import FILE.csv'",
                   "%s: what is stored of unit '%s' makes no sense", store->path, unit);
}

static wh_status load_wheels(wh_store *store, wh_unit *unit, wh_error *error)
{
    sqlite3_stmt *rows = wh_store_prepare(store, "SELECT position, sensor, descriptor, target_kpa, sidewall_max_kpa, "
                                                 "load_note FROM wheel WHERE unit = ?");
    if (!rows)
        return wh_store_fail(store, error, loading);
    sqlite3_bind_text(rows, 1, unit->name, -1, SQLITE_STATIC);
    wh_status status = WH_OK;
    int code;
    while (status == WH_OK && (code = sqlite3_step(rows)) != SQLITE_DONE) {
        wh_position position;
        const char *text = code == SQLITE_ROW ? (const char *)sqlite3_column_text(rows, 0) : NULL;
        wh_wheel *wheel = text && wh_position_parse(text, &position) ? wh_unit_wheel(unit, position) : NULL;
        if (code != SQLITE_ROW || !wheel) {
            status = code != SQLITE_ROW ? wh_store_fail(store, error, loading) : damaged(store, unit->name, error);
            break;
        }
        wh_store_text(rows, 1, wheel->sensor, sizeof wheel->sensor);
        wh_store_text(rows, 2, wheel->descriptor, sizeof wheel->descriptor);
        wheel->target.kpa = sqlite3_column_double(rows, 3);
        wheel->sidewall_max.kpa = sqlite3_column_double(rows, 4);
        wh_store_text(rows, 5, wheel->load_note, sizeof wheel->load_note);
    }
    sqlite3_finalize(rows);
    return status;
}

static wh_status load_unit(wh_store *store, sqlite3_stmt *row, wh_roster *roster, wh_error *error)
{
    char name[WH_UNIT_NAME_SIZE], kind_name[32];
    wh_unit_kind kind;
    wh_store_text(row, 0, name, sizeof name);
    wh_store_text(row, 1, kind_name, sizeof kind_name);
    const int axles = sqlite3_column_int(row, 2), bits = sqlite3_column_int(row, 3);
    bool dual[WH_AXLES_MAX];
    for (int axle = 0; axle < WH_AXLES_MAX; axle++)
        dual[axle] = (bits >> axle & 1) != 0;
    wh_unit *unit = calloc(1, sizeof *unit);
    if (!unit)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    wh_status status = WH_ERR_DATA;
    if (wh_unit_kind_parse(kind_name, &kind) && axles > 0 && axles <= WH_AXLES_MAX)
        status = wh_unit_make(unit, name, kind, (unsigned)axles, dual, NULL);
    if (status != WH_OK) {
        status = damaged(store, name, error);
    } else {
        unit->first_axle = (unsigned)sqlite3_column_int(row, 4);
        unit->carrier_hz = sqlite3_column_double(row, 5);
        wh_store_text(row, 6, unit->note, sizeof unit->note);
        status = load_wheels(store, unit, error);
    }
    if (status == WH_OK)
        status = wh_roster_put(roster, unit, error);
    free(unit);
    return status;
}

wh_status wh_store_roster_load(wh_store *store, wh_roster **out, wh_error *error)
{
    *out = NULL;
    wh_roster *roster = wh_roster_create();
    if (!roster)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    /* One transaction: a roster saved by somebody else meanwhile is seen whole or not at all. */
    wh_status status = wh_store_run(store, "BEGIN", error, loading);
    sqlite3_stmt *rows = NULL;
    if (status == WH_OK) {
        rows = wh_store_prepare(store, "SELECT name, kind, axle_count, dual, first_axle, carrier_hz, note FROM unit "
                                       "ORDER BY name");
        if (!rows)
            status = wh_store_fail(store, error, loading);
    }
    int code = SQLITE_DONE;
    while (status == WH_OK && (code = sqlite3_step(rows)) == SQLITE_ROW)
        status = load_unit(store, rows, roster, error);
    if (status == WH_OK && code != SQLITE_DONE)
        status = wh_store_fail(store, error, loading);
    sqlite3_finalize(rows);
    status = wh_store_end(store, status, error, loading);
    if (status != WH_OK)
        wh_roster_destroy(&roster);
    *out = roster;
    return status;
}

/* The sensor of one wheel as it was, written over what is on record now. */
static void set_back(wh_roster *roster, const wh_unit *unit, sqlite3_stmt *row)
{
    wh_position position;
    const char *text = (const char *)sqlite3_column_text(row, 0);
    wh_unit *changed = malloc(sizeof *changed);
    if (!changed || !text || !wh_position_parse(text, &position)) {
        free(changed);
        return;
    }
    *changed = *unit;
    wh_wheel *wheel = wh_unit_wheel(changed, position);
    if (wheel) {
        wh_store_text(row, 1, wheel->sensor, sizeof wheel->sensor);
        wh_roster_put(roster, changed, NULL);
    }
    free(changed);
}

wh_status wh_store_roster_load_at(wh_store *store, int64_t event, wh_roster **out, wh_error *error)
{
    wh_status status = wh_store_roster_load(store, out, error);
    if (status != WH_OK)
        return status;
    /* Of the changes since then the first one knows what was on record. */
    sqlite3_stmt *rows = wh_store_prepare(store, "SELECT position, sensor_before FROM record_change WHERE id IN "
                                                 "(SELECT min(id) FROM record_change WHERE unit = ?1 AND "
                                                 "after_event >= ?2 GROUP BY position)");
    if (!rows)
        status = wh_store_fail(store, error, loading);
    for (size_t i = 0; status == WH_OK && i < wh_roster_count(*out); i++) {
        char name[WH_UNIT_NAME_SIZE];
        snprintf(name, sizeof name, "%s", wh_roster_at(*out, i)->name);
        sqlite3_reset(rows);
        sqlite3_bind_text(rows, 1, name, -1, SQLITE_STATIC);
        sqlite3_bind_int64(rows, 2, event);
        int code;
        while ((code = sqlite3_step(rows)) == SQLITE_ROW)
            set_back(*out, wh_roster_find(*out, name), rows);
        if (code != SQLITE_DONE)
            status = wh_store_fail(store, error, loading);
    }
    sqlite3_finalize(rows);
    if (status != WH_OK)
        wh_roster_destroy(out);
    return status;
}
