/* Complaints about descriptor files, on the terminal. */
#ifndef WH_COMPLAINT_PRINT_H
#define WH_COMPLAINT_PRINT_H

#include "wheelhark/descriptor.h"

#include <stdio.h>

/* FILE:LINE:COLUMN: error: reason, the line, a caret below the place, and the hint. */
void wh_complaint_print(FILE *out, const wh_complaint *complaint);

#endif
