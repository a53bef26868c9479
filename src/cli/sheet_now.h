/* The work sheet of a case, in the local time of this computer. */
#ifndef WH_SHEET_NOW_H
#define WH_SHEET_NOW_H

#include "text_buffer.h"
#include "yard_case.h"

/* `options`: what the case was loaded with. */
void wh_sheet_now(wh_text *text, const wh_yard_case *yard_case, const wh_case_options *options, bool html);

#endif
