/* Is a text fit for the YAML scanner? */
#ifndef WH_TEXT_CHECK_H
#define WH_TEXT_CHECK_H

#include "complaint.h"

/* Complain about bytes that are no UTF-8, control characters (NUL above all), other line ends than LF and CRLF, and
 * tabs in the indentation. The scanner would refuse most of these too, but without saying where. Returns true when
 * there was nothing to complain about. */
bool wh_text_check(wh_complaints *complaints);

#endif
