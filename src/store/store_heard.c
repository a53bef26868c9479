#include "store_impl.h"

#include <string.h>

/* A number that is only there in state OK; else NULL. */
static void bind_value(sqlite3_stmt *statement, int column, bool there, double value)
{
    if (there)
        sqlite3_bind_double(statement, column, value);
    else
        sqlite3_bind_null(statement, column);
}

static void bind_mark(sqlite3_stmt *statement, int column, signed char mark)
{
    if (mark >= 0)
        sqlite3_bind_int(statement, column, mark);
    else
        sqlite3_bind_null(statement, column);
}

void wh_store_bind_heard(sqlite3_stmt *statement, int first, const wh_heard *heard)
{
    int column = first;
    sqlite3_bind_text(statement, column++, heard->sensor, -1, SQLITE_TRANSIENT);
    sqlite3_bind_text(statement, column++, heard->descriptor, -1, SQLITE_TRANSIENT);
    sqlite3_bind_int(statement, column++, heard->nickname);
    sqlite3_bind_text(statement, column++, wh_value_state_name(heard->pressure_state), -1, SQLITE_STATIC);
    bind_value(statement, column++, heard->pressure_state == WH_VALUE_OK, heard->pressure.kpa);
    bind_value(statement, column++, heard->pressure_state == WH_VALUE_OK && heard->from_absolute, heard->absolute.kpa);
    sqlite3_bind_text(statement, column++, wh_value_state_name(heard->temperature_state), -1, SQLITE_STATIC);
    bind_value(statement, column++, heard->temperature_state == WH_VALUE_OK, heard->temperature_c);
    bind_mark(statement, column++, heard->battery_low);
    sqlite3_bind_int(statement, column++, heard->sensor_fault);
    sqlite3_bind_double(statement, column++, heard->confidence);
    sqlite3_bind_double(statement, column++, heard->level_dbfs);
    sqlite3_bind_double(statement, column++, heard->snr_db);
    sqlite3_bind_double(statement, column++, heard->carrier_hz);
    sqlite3_bind_int64(statement, column++, heard->copies);
}

static wh_value_state read_state(sqlite3_stmt *statement, int column)
{
    const char *text = (const char *)sqlite3_column_text(statement, column);
    for (unsigned state = 0; text && state < WH_VALUE_STATE_COUNT; state++)
        if (strcmp(text, wh_value_state_name((wh_value_state)state)) == 0)
            return (wh_value_state)state;
    return WH_VALUE_ABSENT;
}

void wh_store_read_heard(sqlite3_stmt *statement, int first, wh_heard *heard)
{
    int column = first;
    *heard = (wh_heard){0};
    wh_store_text(statement, column++, heard->sensor, sizeof heard->sensor);
    wh_store_text(statement, column++, heard->descriptor, sizeof heard->descriptor);
    heard->nickname = sqlite3_column_int(statement, column++) != 0;
    heard->pressure_state = read_state(statement, column++);
    heard->pressure.kpa = sqlite3_column_double(statement, column++);
    heard->from_absolute = sqlite3_column_type(statement, column) != SQLITE_NULL;
    heard->absolute.kpa = sqlite3_column_double(statement, column++);
    heard->temperature_state = read_state(statement, column++);
    heard->temperature_c = sqlite3_column_double(statement, column++);
    heard->battery_low = sqlite3_column_type(statement, column) == SQLITE_NULL
                             ? (signed char)-1
                             : (signed char)(sqlite3_column_int(statement, column) != 0);
    column++;
    heard->sensor_fault = (signed char)sqlite3_column_int(statement, column++);
    heard->confidence = sqlite3_column_double(statement, column++);
    heard->level_dbfs = sqlite3_column_double(statement, column++);
    heard->snr_db = sqlite3_column_double(statement, column++);
    heard->carrier_hz = sqlite3_column_double(statement, column++);
    heard->copies = (unsigned)sqlite3_column_int64(statement, column++);
}
