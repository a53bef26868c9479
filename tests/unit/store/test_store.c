/* Opening, the schema, the roster, damage, and the refusals of the disk. */
#include "store_fixture.h"

#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static wh_status opened(const char *path, wh_store_access access, wh_error *error)
{
    wh_store *store;
    const wh_status status = wh_store_open(path, access, &store, error);
    if (status == WH_OK) {
        wh_store_close(&store);
    } else {
        assert_null(store);
        assert_true(error->what[0] && error->fix[0]); /* what, and what to do */
    }
    return status;
}

/* One statement behind the store's back. */
static void behind(const char *path, const char *sql)
{
    sqlite3 *db;
    char *reason = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &reason) != SQLITE_OK)
        fail_msg("%s: %s", sql, reason);
    sqlite3_close(db);
}

static void assert_same_unit(const wh_unit *a, const wh_unit *b)
{
    assert_string_equal(a->name, b->name);
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->axle_count, b->axle_count);
    assert_memory_equal(a->dual, b->dual, a->axle_count * sizeof *a->dual);
    assert_int_equal(a->first_axle, b->first_axle);
    assert_true(a->carrier_hz == b->carrier_hz);
    assert_string_equal(a->note, b->note);
    assert_int_equal(a->wheel_count, b->wheel_count);
    for (unsigned i = 0; i < a->wheel_count; i++) {
        assert_true(wh_position_equal(a->wheels[i].position, b->wheels[i].position));
        assert_string_equal(a->wheels[i].sensor, b->wheels[i].sensor);
        assert_string_equal(a->wheels[i].descriptor, b->wheels[i].descriptor);
        assert_true(a->wheels[i].target.kpa == b->wheels[i].target.kpa);
        assert_true(a->wheels[i].sidewall_max.kpa == b->wheels[i].sidewall_max.kpa);
        assert_string_equal(a->wheels[i].load_note, b->wheels[i].load_note);
    }
}

static void test_roster_comes_back(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("roster"));
    wh_roster *roster, *back;
    assert_int_equal(wh_store_roster_load(store, &roster, &error), WH_OK);
    assert_int_equal(wh_roster_count(roster), 0);
    wh_roster_destroy(&roster);
    roster = fixture_roster();
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    wh_store_close(&store);

    assert_int_equal(wh_store_open(fixture_path("roster"), WH_STORE_READ, &store, &error), WH_OK);
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_OK);
    assert_int_equal(wh_roster_count(back), 2);
    for (size_t i = 0; i < 2; i++)
        assert_same_unit(wh_roster_at(roster, i), wh_roster_at(back, i));
    wh_store_close(&store);

    /* Saved again: what is gone is gone. */
    store = fixture_open(fixture_path("roster"));
    assert_int_equal(wh_roster_remove(roster, "Anvil 3"), WH_OK);
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    wh_roster_destroy(&back);
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_OK);
    assert_int_equal(wh_roster_count(back), 1);
    wh_roster_destroy(&back);
    wh_roster_destroy(&roster);
    wh_store_close(&store);
}

static void test_no_file_no_folder(void **state)
{
    (void)state;
    wh_error error;
    assert_int_equal(opened(fixture_path("nowhere"), WH_STORE_READ, &error), WH_ERR_NOT_FOUND);
    assert_non_null(strstr(error.fix, "roster import"));
    assert_int_equal(access(fixture_path("nowhere"), F_OK), -1); /* looking makes nothing */
    assert_int_equal(opened(fixture_path("no-folder/store"), WH_STORE_WRITE, &error), WH_ERR_NOT_FOUND);
    assert_int_equal(opened(fixture_path("."), WH_STORE_WRITE, &error), WH_ERR_FORMAT);
}

static void test_not_a_store(void **state)
{
    (void)state;
    wh_error error;
    FILE *file = fopen(fixture_path("letter"), "w");
    for (int i = 0; i < 200; i++)
        fputs("Dear yard, this is no database. ", file);
    fclose(file);
    assert_int_equal(opened(fixture_path("letter"), WH_STORE_WRITE, &error), WH_ERR_FORMAT);
    assert_int_equal(opened(fixture_path("letter"), WH_STORE_READ, &error), WH_ERR_FORMAT);
    behind(fixture_path("music"), "CREATE TABLE song (title TEXT)");
    assert_int_equal(opened(fixture_path("music"), WH_STORE_WRITE, &error), WH_ERR_FORMAT);
    assert_non_null(strstr(error.what, "another program"));
}

static void test_newer_schema(void **state)
{
    (void)state;
    wh_error error;
    assert_int_equal(opened(fixture_path("newer"), WH_STORE_WRITE, &error), WH_OK);
    assert_int_equal(opened(fixture_path("newer"), WH_STORE_WRITE, &error), WH_OK); /* our own, a second time */
    behind(fixture_path("newer"), "PRAGMA user_version = 99");
    assert_int_equal(opened(fixture_path("newer"), WH_STORE_WRITE, &error), WH_ERR_UNSUPPORTED);
    assert_non_null(strstr(error.what, "newer version"));
    assert_int_equal(opened(fixture_path("newer"), WH_STORE_READ, &error), WH_ERR_UNSUPPORTED);
}

/* The rules of the file hold whoever writes: STRICT types, and a position once. */
static void test_tables_are_strict(void **state)
{
    (void)state;
    wh_error error;
    assert_int_equal(opened(fixture_path("strict"), WH_STORE_WRITE, &error), WH_OK);
    sqlite3 *db;
    assert_int_equal(sqlite3_open(fixture_path("strict"), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "INSERT INTO sweep (dated, begun_us, who, source, receiver) "
                                  "VALUES ('yes', 0, '', '', '')",
                                  NULL, NULL, NULL),
                     SQLITE_CONSTRAINT);
    sqlite3_stmt *row;
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND "
                                        "name NOT LIKE 'sqlite%' AND sql NOT LIKE '%STRICT%'",
                                        -1, &row, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    assert_int_equal(sqlite3_column_int(row, 0), 0);
    sqlite3_finalize(row);
    assert_int_equal(sqlite3_prepare_v2(db, "PRAGMA journal_mode", -1, &row, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    assert_string_equal((const char *)sqlite3_column_text(row, 0), "wal");
    sqlite3_finalize(row);
    sqlite3_close(db);
}

static void test_damage_is_named(void **state)
{
    (void)state;
    wh_error error;
    const char *path = fixture_path("damaged");
    wh_store *store = fixture_open(path);
    wh_roster *roster = fixture_roster();
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    assert_int_equal(wh_store_check(store, &error), WH_OK);
    wh_store_close(&store);
    /* Overwrite everything behind the first page, which still says what the file is. */
    const int file = open(path, O_WRONLY);
    static const char junk[4096] = "junk";
    struct stat info;
    assert_int_equal(fstat(file, &info), 0);
    for (off_t at = 4096; at < info.st_size; at += 4096)
        assert_int_equal(pwrite(file, junk, sizeof junk, at), sizeof junk);
    close(file);
    store = fixture_open(path);
    assert_int_equal(wh_store_check(store, &error), WH_ERR_DATA);
    assert_non_null(strstr(error.fix, "backup"));
    wh_roster *back;
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_ERR_DATA);
    assert_null(back);
    wh_store_close(&store);
    wh_roster_destroy(&roster);
}

static void test_senseless_unit(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("senseless"));
    wh_roster *roster = fixture_roster(), *back;
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    behind(fixture_path("senseless"), "UPDATE unit SET axle_count = 40 WHERE name = 'T-88'");
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_ERR_DATA);
    assert_non_null(strstr(error.what, "T-88"));
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK); /* as the error advises */
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_OK);
    wh_roster_destroy(&back);
    wh_roster_destroy(&roster);
    wh_store_close(&store);
}

/* In a process of its own, because the limit cannot be taken back: files may not grow beyond what the store has. What was
 * stored before stays, and nothing of the failed event is seen. */
static int fill_up(const char *path)
{
    wh_error error;
    wh_store *store = NULL;
    if (wh_store_open(path, WH_STORE_WRITE, &store, &error) != WH_OK)
        return 1;
    const char *unit = "T-88";
    wh_sweep *sweep = wh_sweep_create(&unit, 1);
    if (!sweep || wh_store_sweep_begin(store, sweep, &error) != WH_OK)
        return 2;
    signal(SIGXFSZ, SIG_IGN);
    const struct rlimit limit = {300000, 300000};
    setrlimit(RLIMIT_FSIZE, &limit);
    wh_status status = WH_OK;
    wh_event event;
    for (int i = 0; status == WH_OK && i < 100000; i++) {
        event = fixture_heard("0A000001", i);
        status = wh_store_sweep_append(store, sweep->id, &event, &error);
    }
    if (status != WH_ERR_IO || event.id != 0 || !error.fix[0])
        return 3;
    wh_sweep *back;
    if (wh_store_sweep_load(store, sweep->id, &back, &error) != WH_OK || back->event_count < 10 ||
        back->events[back->event_count - 1].at_us != event.at_us - 1)
        return 4;
    wh_sweep_free(&back);
    wh_sweep_free(&sweep);
    wh_store_close(&store);
    return 0;
}

static void test_no_room(void **state)
{
    (void)state;
    const char *path = fixture_path("full");
    const pid_t child = fork();
    if (child == 0)
        _exit(fill_up(path));
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
}

static void test_read_only(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("locked"));
    wh_store_close(&store);
    assert_int_equal(wh_store_open(fixture_path("locked"), WH_STORE_READ, &store, &error), WH_OK);
    wh_roster *roster = fixture_roster();
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_ERR_PERMISSION);
    assert_non_null(strstr(error.what, "read-only"));
    wh_roster_destroy(&roster);
    wh_store_close(&store);
}

static void test_backup(void **state)
{
    (void)state;
    wh_error error;
    wh_store *store = fixture_open(fixture_path("origin"));
    wh_roster *roster = fixture_roster(), *back;
    assert_int_equal(wh_store_roster_save(store, roster, &error), WH_OK);
    assert_int_equal(wh_store_backup(store, fixture_path("copy"), &error), WH_OK);
    assert_int_equal(wh_store_backup(store, fixture_path("copy"), &error), WH_ERR_ARGUMENT);
    assert_int_equal(wh_store_backup(store, fixture_path("none/copy"), &error), WH_ERR_IO);
    wh_store_close(&store);
    assert_int_equal(access(fixture_path("copy-wal"), F_OK), -1); /* one file is all */
    store = fixture_open(fixture_path("copy"));
    assert_int_equal(wh_store_check(store, &error), WH_OK);
    assert_int_equal(wh_store_roster_load(store, &back, &error), WH_OK);
    assert_same_unit(wh_roster_at(back, 1), wh_roster_at(roster, 1));
    wh_roster_destroy(&back);
    wh_roster_destroy(&roster);
    wh_store_close(&store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_roster_comes_back), cmocka_unit_test(test_no_file_no_folder),
        cmocka_unit_test(test_not_a_store),       cmocka_unit_test(test_newer_schema),
        cmocka_unit_test(test_tables_are_strict), cmocka_unit_test(test_damage_is_named),
        cmocka_unit_test(test_senseless_unit),    cmocka_unit_test(test_no_room),
        cmocka_unit_test(test_read_only),         cmocka_unit_test(test_backup),
    };
    return cmocka_run_group_tests(tests, fixture_begin, fixture_end);
}
