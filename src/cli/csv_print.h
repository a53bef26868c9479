/* What is wrong in a table, told to people. */
#ifndef WH_CSV_PRINT_H
#define WH_CSV_PRINT_H

#include "csv.h"

/* On stderr, each with its place: "FILE:ROW:COLUMN: error: cell D7: what", and what to do. */
void wh_csv_complaints_print(const char *path, const wh_csv_complaints *complaints);

#endif
