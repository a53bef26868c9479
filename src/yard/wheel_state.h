/* One wheel in one symbol and one word: what boards, diagrams and sheets put into its cell. */
#ifndef WH_WHEEL_STATE_H
#define WH_WHEEL_STATE_H

#include "attribution.h"
#include "judge.h"

#include <stdbool.h>

typedef enum wh_wheel_tone {
    WH_TONE_WAITING, /* nobody stood there yet */
    WH_TONE_SILENT,  /* visited, nothing heard: neither good nor bad */
    WH_TONE_QUIET,   /* heard, and no finding speaks against it. Not: the tire is in order */
    WH_TONE_CHECK,
    WH_TONE_FAULT,
    WH_TONE_COUNT
} wh_wheel_tone;

typedef struct wh_wheel_state {
    wh_wheel_tone tone;
    const char *word;        /* up to 12 characters: "low", "new ID", "not heard"; static */
    const char *symbol;      /* one column, UTF-8; static */
    char ascii;              /* the same where UTF-8 cannot be shown */
    const wh_finding *worst; /* what the word stands for; owned by the findings; NULL when nothing does */
    unsigned further;        /* findings at this wheel beside it */
} wh_wheel_state;

/* `findings` may be NULL: nothing was judged yet. A finding concerns the wheels at its position and, with the same unit, at
 * its other position. */
wh_wheel_state wh_wheel_state_of(const wh_seat *seat, const char *unit, const wh_findings *findings);

/* The word of a finding in a cell, up to 12 characters. */
const char *wh_finding_kind_word(wh_finding_kind kind);
/* "not visited", "silent", "no finding", "check", "fault": the legend. */
const char *wh_wheel_tone_name(wh_wheel_tone tone);
const char *wh_wheel_tone_symbol(wh_wheel_tone tone);
char wh_wheel_tone_ascii(wh_wheel_tone tone);

#endif
