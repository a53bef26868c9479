#include "store_fixture.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];

int fixture_begin(void **state)
{
    (void)state;
    strcpy(folder, "store-test-XXXXXX");
    return mkdtemp(folder) ? 0 : -1;
}

static void empty_folder(const char *path)
{
    DIR *dir = opendir(path);
    assert_non_null(dir);
    const struct dirent *entry;
    while ((entry = readdir(dir)))
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            char inside[400];
            snprintf(inside, sizeof inside, "%s/%s", path, entry->d_name);
            struct stat info;
            if (lstat(inside, &info) == 0 && S_ISDIR(info.st_mode)) {
                chmod(inside, 0700);
                empty_folder(inside);
                rmdir(inside);
            }
            unlink(inside);
        }
    closedir(dir);
}

int fixture_end(void **state)
{
    (void)state;
    empty_folder(folder);
    return rmdir(folder);
}

const char *fixture_path(const char *name)
{
    static char paths[4][128];
    static unsigned next;
    char *path = paths[next++ % 4];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

wh_store *fixture_open(const char *path)
{
    wh_store *store = NULL;
    wh_error error;
    if (wh_store_open(path, WH_STORE_WRITE, &store, &error) != WH_OK)
        fail_msg("%s (%s)", error.what, error.fix);
    return store;
}

static void add_unit(wh_roster *roster, const char *name, wh_unit_kind kind, const bool *dual, unsigned first_axle,
                     unsigned *serial)
{
    wh_unit unit;
    wh_error error;
    assert_int_equal(wh_unit_make(&unit, name, kind, 2, dual, &error), WH_OK);
    unit.first_axle = first_axle;
    unit.carrier_hz = 433.92e6;
    snprintf(unit.note, sizeof unit.note, "bay %s, \"north\"", name);
    for (unsigned i = 0; i < unit.wheel_count; i++) {
        snprintf(unit.wheels[i].sensor, sizeof unit.wheels[i].sensor, "0A%06X", ++*serial);
        strcpy(unit.wheels[i].descriptor, "demo-fsk-manchester");
        unit.wheels[i].target.kpa = 724.0 + 0.1 * i;
        unit.wheels[i].sidewall_max.kpa = 862.0;
        strcpy(unit.wheels[i].load_note, i % 2 ? "load range G" : "");
    }
    assert_int_equal(wh_roster_put(roster, &unit, &error), WH_OK);
}

wh_roster *fixture_roster(void)
{
    static const bool tractor[] = {false, true}, trailer[] = {true, true};
    unsigned serial = 0;
    wh_roster *roster = wh_roster_create();
    assert_non_null(roster);
    add_unit(roster, "Anvil 3", WH_TRACTOR, tractor, 1, &serial);
    add_unit(roster, "T-88", WH_TRAILER, trailer, 4, &serial);
    return roster;
}

wh_sweep *fixture_sweep(wh_store *store, const char *unit, bool dated, int64_t begun_us)
{
    wh_error error;
    wh_sweep *sweep = wh_sweep_create(&unit, 1);
    assert_non_null(sweep);
    sweep->dated = dated;
    sweep->begun_us = begun_us;
    strcpy(sweep->who, "R. Vale");
    strcpy(sweep->source, "dongle 00000002");
    strcpy(sweep->receiver, "gain 32 dB");
    assert_int_equal(wh_store_sweep_begin(store, sweep, &error), WH_OK);
    return sweep;
}

wh_event fixture_heard(const char *sensor, int64_t at_us)
{
    wh_event event = {.at_us = at_us,
                      .kind = WH_EVENT_HEARD,
                      .heard = {.pressure_state = WH_VALUE_OK,
                                .pressure = {612.25},
                                .from_absolute = true,
                                .absolute = {713.575},
                                .temperature_state = WH_VALUE_OK,
                                .temperature_c = -3.5,
                                .battery_low = -1,
                                .confidence = 0.9875,
                                .level_dbfs = -21.5,
                                .snr_db = 30.25,
                                .carrier_hz = 433918400.0,
                                .copies = 3}};
    snprintf(event.heard.sensor, sizeof event.heard.sensor, "%s", sensor);
    strcpy(event.heard.descriptor, "demo-fsk-manchester");
    return event;
}
