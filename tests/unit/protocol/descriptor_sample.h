/* A good descriptor file for tests, and what was complained about a changed one. */
#ifndef WH_DESCRIPTOR_SAMPLE_H
#define WH_DESCRIPTOR_SAMPLE_H

#include "wheelhark/descriptor.h"

#include <stdbool.h>

/* An invented sensor with every kind of field. Its example was put together by hand; the CRC-8 (polynomial 0x07, start
 * 0) of 0A 1B 2C 3D 5A 3A 45 00 00 is 0xA4 by a separate bitwise program. */
extern const char *const sample_text;

#define SAMPLE_COMPLAINTS_MAX 80

typedef struct sample_log {
    unsigned count, errors;
    wh_complaint items[SAMPLE_COMPLAINTS_MAX];
} sample_log;

/* A wh_complaint_fn; `context` is a sample_log. */
void sample_note(void *context, const wh_complaint *complaint);

/* `text`, or the sample, with the first `old` replaced by `new`, in memory the caller frees. The test fails when `old` is not in
 * it. A '@' in `new` is left out; *line and *column (may be NULL) tell where it stood. */
char *sample_change(const char *text, const char *old, const char *new, unsigned *line, unsigned *column);
char *sample_with(const char *old, const char *new, unsigned *line, unsigned *column);

/* Load a text into a set of its own that is given back (the caller destroys it), with what was said about it. */
wh_descriptor_set *sample_load(const char *text, sample_log *log, wh_status *status);

#endif
