/* What must outlive the program: the roster and every sweep, event by event, in one SQLite file. What a call has stored is on
 * the disk when it returns: a process killed right afterwards, or a machine that loses power, loses nothing of it. Several
 * processes may read while one writes; a second writer waits for the first one's transaction. One store is used from one
 * thread at a time. */
#ifndef WH_STORE_H
#define WH_STORE_H

#include "judge.h"
#include "wheelhark/roster.h"
#include "wheelhark/sweep.h"

typedef struct wh_store wh_store;

typedef enum wh_store_access {
    WH_STORE_READ, /* the file must exist; nothing is changed */
    WH_STORE_WRITE /* the file is made when there is none, and brought up to this program's schema */
} wh_store_access;

/* WH_ERR_NOT_FOUND (READ: no file; WRITE: no folder), WH_ERR_PERMISSION, WH_ERR_FORMAT (not a store), WH_ERR_UNSUPPORTED
 * (written by a newer program), WH_ERR_DATA (damaged), WH_ERR_BUSY, WH_ERR_IO (disk full among others). Every call below
 * fails with one of the last five, too, and then has stored nothing. */
wh_status wh_store_open(const char *path, wh_store_access access, wh_store **out, wh_error *error);
void wh_store_close(wh_store **store);
/* Look at the whole file: WH_ERR_DATA names the first damage. */
wh_status wh_store_check(wh_store *store, wh_error *error);

/* The roster as a whole. Load gives an empty one when nothing was saved; the caller destroys it. */
wh_status wh_store_roster_load(wh_store *store, wh_roster **out, wh_error *error);
/* The roster with the sensors that were on record when this event was the last one; units and layouts are today's. */
wh_status wh_store_roster_load_at(wh_store *store, int64_t event, wh_roster **out, wh_error *error);
wh_status wh_store_roster_save(wh_store *store, const wh_roster *roster, wh_error *error);

/* Begin a sweep: stores everything but its events and gives sweep->id. */
wh_status wh_store_sweep_begin(wh_store *store, wh_sweep *sweep, wh_error *error);
/* Store one event of a sweep; gives event->id. */
wh_status wh_store_sweep_append(wh_store *store, int64_t sweep, wh_event *event, wh_error *error);
/* WH_ERR_NOT_FOUND when there is none. Free the result with wh_sweep_free (sweep_list.h). */
wh_status wh_store_sweep_load(wh_store *store, int64_t sweep, wh_sweep **out, wh_error *error);

/* One line of a list of sweeps. */
typedef struct wh_sweep_head {
    int64_t id;
    bool dated;
    int64_t begun_us, last_us; /* `last_us`: of the last event; begun_us when there is none */
    char who[WH_UNIT_NAME_SIZE];
    char source[128];
    char units[256]; /* names with ", " between; cut with "..." */
    size_t unit_count;
    size_t event_count;
    bool ended;
} wh_sweep_head;

typedef struct wh_sweep_filter {
    const char *unit; /* sweeps round this unit; NULL: all */
    bool open_only;   /* not ended */
    size_t most;      /* newest ones; 0: all */
} wh_sweep_filter;

/* Newest first. Free *out with free(). */
wh_status wh_store_sweep_list(wh_store *store, const wh_sweep_filter *filter, wh_sweep_head **out, size_t *count,
                              wh_error *error);

/* All readings of these sensors from dated sweeps, in order of time (then of id). Free *out with free(). */
wh_status wh_store_past(wh_store *store, const char *const *sensors, size_t sensor_count, wh_past **out, size_t *count,
                        wh_error *error);

/* A sensor that was kept under a nickname has become known by its ID: from now on everything under the nickname is its own, readings
 * and what is on record. *count (may be NULL): readings and bindings. */
wh_status wh_store_rename(wh_store *store, const char *nickname, const char *sensor, size_t *count, wh_error *error);

/* When the last repair of a unit was marked in a dated sweep, microseconds since 1970 UTC; 0 when there was none. */
wh_status wh_store_last_repair(wh_store *store, const char *unit, int64_t *at_us, wh_error *error);

/* Forget readings; their bytes are overwritten in the file. Returns how many in *count (may be NULL). */
/* ... of sensors that are on no wheel of the roster, were bound by nobody, and are not in `keep`; of one sweep, or of all
 * when `sweep` is 0. */
wh_status wh_store_forget_strangers(wh_store *store, int64_t sweep, const char *const *keep, size_t keep_count,
                                    size_t *count, wh_error *error);
/* ... of one sensor. */
wh_status wh_store_forget_sensor(wh_store *store, const char *sensor, size_t *count, wh_error *error);
/* ... whole dated sweeps whose last event is before `utc_us`; *count counts sweeps. */
wh_status wh_store_forget_before(wh_store *store, int64_t utc_us, size_t *count, wh_error *error);

/* Copy everything to a new file, while others read and write. WH_ERR_ARGUMENT when `path` exists. */
wh_status wh_store_backup(wh_store *store, const char *path, wh_error *error);

#endif
