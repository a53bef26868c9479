/* A folder for the stores of one test program, and a small invented fleet. */
#ifndef STORE_FIXTURE_H
#define STORE_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "store.h"
#include "sweep_list.h"

/* Group set-up and tear-down: makes a folder and removes it with everything in it. */
int fixture_begin(void **state);
int fixture_end(void **state);
/* Path of a file of that name in the folder; valid until the fourth call after this one. */
const char *fixture_path(const char *name);

/* Opens for writing, or fails the test with the reason. */
wh_store *fixture_open(const char *path);
/* Two units: "Anvil 3", a tractor with axles 1 single and 2 dual, and "T-88", a trailer with two dual axles counted from 4.
 * Its sensors are 0A000001 ... in the order of the walk. */
wh_roster *fixture_roster(void);
/* A sweep round one unit, begun in `store`. */
wh_sweep *fixture_sweep(wh_store *store, const char *unit, bool dated, int64_t begun_us);
/* A reading of `sensor` at a time. */
wh_event fixture_heard(const char *sensor, int64_t at_us);

#endif
