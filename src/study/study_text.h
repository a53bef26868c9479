/* What a study found, told to people (wh_text) and to programs (JSON Lines). */
#ifndef WH_STUDY_TEXT_H
#define WH_STUDY_TEXT_H

#include "study.h"
#include "text_buffer.h"

#include <stdbool.h>
#include <stddef.h>

/* Recordings and bursts in all, one line each; and what to record when nothing was found. */
void wh_study_text_head(wh_study *study, wh_text *text);
/* One kind: radio, line code, framing, each with how sure. */
void wh_study_text_kind(const wh_study *study, size_t kind, wh_text *text);
/* Its frames, at most `most` of them. Bits in doubt are counted at the end of the line. */
void wh_study_text_frames(wh_study *study, size_t kind, size_t most, wh_text *text);
/* Bursts that are of no kind, by reason; the first few by name. */
void wh_study_text_strays(wh_study *study, wh_text *text);

/* Records "kind", "frame" and "stray", one a line. */
void wh_study_json_kind(const wh_study *study, size_t kind, wh_text *text);
void wh_study_json_frames(wh_study *study, size_t kind, wh_text *text);
void wh_study_json_strays(wh_study *study, wh_text *text);

/* "certain", "likely" or "open". */
const char *wh_certainty_name(wh_certainty certainty);
/* "steady-carrier", ...: as JSON has it. */
const char *wh_stray_name(wh_stray stray);

/* |log-likelihood ratio| of a bit below which it is called doubtful: wrong once in fifty. */
#define WH_DOUBTFUL 4.0f

#endif
