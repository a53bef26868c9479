/* The assignment problem: each row gets a column of its own so that the costs add up to the least. */
#ifndef WH_ASSIGNMENT_H
#define WH_ASSIGNMENT_H

#include "wheelhark/status.h"

#include <stddef.h>

/* `cost`: rows x columns, row after row; INFINITY where a pair is not allowed, never NaN or -INFINITY. rows <= columns.
 * Gives the column of each row, and prices that prove it:
 *     cost[i][j] - row_price[i] - column_price[j] >= 0, 0 for chosen pairs; column_price <= 0, 0 for columns nobody got;
 * so any other assignment costs more by the sum of these differences over its pairs plus that of -column_price over the columns
 * it leaves free. Shortest augmenting paths (Jonker and Volgenant 1987), rows^2 x columns steps.
 * WH_ERR_NOT_FOUND when no allowed assignment exists, WH_ERR_ARGUMENT when rows > columns, WH_ERR_MEMORY. */
wh_status wh_assign(const double *cost, size_t rows, size_t columns, size_t *column_of_row, double *row_price,
                    double *column_price);

#endif
