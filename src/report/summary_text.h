/* The last words of a run, for people, and what they should do about what was noticed. */
#ifndef WH_SUMMARY_TEXT_H
#define WH_SUMMARY_TEXT_H

#include "report.h"
#include "text_buffer.h"

/* Several lines. `work_s`: seconds the run took, for the ratio to real time; 0 or less leaves that out. */
void wh_summary_text(wh_text *text, const wh_run_summary *summary, double work_s);
/* What everybody who acts on pressures must know. */
void wh_safety_text(wh_text *text);

#endif
