/* Findings as text, JSON Lines and CSV. */
#ifndef WH_FINDING_REPORT_H
#define WH_FINDING_REPORT_H

#include "judge.h"
#include "text_buffer.h"
#include "wheelhark/finding.h"

/* Several lines within `columns`: a heading that begins with `lead` ("[ ] 3. "), then what was heard, what to do, and by
 * which rule. */
void wh_finding_put_text(wh_text *text, const char *lead, const wh_finding *finding, unsigned columns);
/* One object and a line end. `at_us` is the end of what was judged; left out when the sweep has no date. */
void wh_finding_put_json(wh_text *text, const wh_finding *finding, bool dated, int64_t at_us);

/* A table with a heading; pressures in kPa. */
void wh_findings_put_csv(wh_text *text, const wh_findings *findings);

/* "3LO", and with a second position "3LO and 3RO", or "3LO and T-12 1L" when that is on another unit. */
void wh_finding_where(wh_text *text, const wh_finding *finding);

/* The cautions under a heading, when a finding touches inflation; else nothing. */
void wh_findings_put_cautions(wh_text *text, const wh_findings *findings, unsigned columns);

#endif
