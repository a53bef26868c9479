/* A reading whose last word is still out, in one line for somebody who waits at a terminal. */
#ifndef WH_EARLY_TEXT_H
#define WH_EARLY_TEXT_H

#include "report.h"
#include "text_buffer.h"

/* "heard 0A1B2C3D, 724.0 kPa gauge, 18.5 degC; waiting for further copies", without line end, cut to `columns`. */
void wh_early_text(wh_text *text, const wh_report_style *style, const wh_reading *reading, unsigned columns);

#endif
