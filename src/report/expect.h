/* Compare readings with what a recording is known to hold.
 *
 * The expected file is JSON Lines: one reading a line, in the keys of the JSON report, as many or as few as matter.
 * Only keys that are given are compared. Text, true, false and null must be equal; objects are compared key by key;
 * numbers may differ by a tolerance: offset_s 0.02, gauge_kpa, absolute_kpa and temp_c 0.05 (half of the last digit
 * written), confidence 0.05, carrier_hz 1000, snr_db and level_dbfs 1, all others 0. A line may state others:
 * {"sensor":"0A1B2C3D","gauge_kpa":724,"tolerance":{"gauge_kpa":3}}. Blank lines and records of other kinds are passed
 * over, so that the output of an earlier run can serve as it is. */
#ifndef WH_EXPECT_H
#define WH_EXPECT_H

#include "wheelhark/reading.h"
#include "wheelhark/status.h"

#include <stddef.h>

#define WH_EXPECT_FILE_MAX  (16u << 20) /* bytes */
#define WH_EXPECT_LINES_MAX 20000u      /* expected readings, and readings to compare with */

typedef struct wh_expect wh_expect;

/* Read the file. WH_ERR_NOT_FOUND, PERMISSION, IO; WH_ERR_FORMAT with line and column when it is not what is said
 * above; WH_ERR_LIMIT. On success *out is the caller's to destroy. */
wh_status wh_expect_load(const char *path, wh_expect **out, wh_error *error);
/* The same from memory; `name` stands for the file in errors. */
wh_status wh_expect_parse(const char *name, const char *text, size_t length, wh_expect **out, wh_error *error);
void wh_expect_destroy(wh_expect **expect);

/* A reading that was heard; copied. WH_ERR_LIMIT when there are too many, WH_ERR_MEMORY. */
wh_status wh_expect_reading(wh_expect *expect, const wh_reading *reading);

/* Called once per difference with text for one line, without its end. Keys of the file stand in it as they are, control
 * characters too. */
typedef void (*wh_expect_fn)(void *context, const char *text);

/* Pair expected with heard readings and tell every difference: expected ones in the order of the file, then heard ones
 * that nobody expected in the order they were heard. Returns how many differences there are; 0: expectation met. */
size_t wh_expect_compare(wh_expect *expect, wh_expect_fn tell, void *context);
/* Expected readings, and readings heard so far. */
size_t wh_expect_count(const wh_expect *expect);
size_t wh_expect_heard(const wh_expect *expect);

#endif
