/* Was the repair done? The unit is judged again on what was heard after the repair mark, and compared with the findings before
 * it. Mended is only what frames heard since then show to be mended; everything else stays open. */
#ifndef WH_VERIFY_H
#define WH_VERIFY_H

#include "judge.h"

typedef enum wh_verdict {
    WH_VERDICT_MENDED,
    WH_VERDICT_OPEN,      /* heard since, and still (or not yet provably otherwise) so */
    WH_VERDICT_NOT_HEARD, /* not heard since: nothing can be said, it stays open */
    WH_VERDICT_NEW,       /* was not there before */
    WH_VERDICT_COUNT
} wh_verdict;

typedef struct wh_verify_row {
    wh_verdict verdict;
    wh_severity severity; /* the worse of before and after */
    wh_position position, other;
    bool has_before, has_after;
    wh_finding before, after;
    bool heard; /* since the mark: `now` and `heard_us` hold, of the sensor at `position` */
    wh_heard now;
    int64_t heard_us;
    char text[240]; /* "612 kPa gauge before, 726 kPa gauge at 21.0 C now", or why it is still open */
} wh_verify_row;

typedef struct wh_verification {
    wh_verify_row *rows; /* what was found before, in that order; then what is new or was not heard since */
    size_t count;
    unsigned by_verdict[WH_VERDICT_COUNT];
    unsigned wheels, wheels_heard; /* of the unit; heard since the mark */
    bool
        all_mended; /* nothing worse than a note is open, new or unheard, and something was heard. No judgement of the tires */
} wh_verification;

/* `before`: findings from before the mark. `after`: what `findings` were judged from, with `after_id` the mark, or 0 when the whole
 * sweep is after the repair. Free the result with wh_verification_free. WH_ERR_NOT_FOUND, WH_ERR_MEMORY. */
wh_status wh_verify(const wh_findings *before, const wh_judge_input *after, const wh_findings *findings,
                    wh_verification **out, wh_error *error);
void wh_verification_free(wh_verification **verification);

/* "mended", "open", "not-heard", "new": stable spellings for files; and a few words for people. */
const char *wh_verdict_name(wh_verdict verdict);
const char *wh_verdict_text(wh_verdict verdict);

#endif
