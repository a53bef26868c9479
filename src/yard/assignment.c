#include "assignment.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

#define NOBODY SIZE_MAX

typedef struct solver {
    const double *cost;
    size_t rows, columns;
    double *row_price, *column_price;
    size_t *column_of_row, *row_of_column;
    double *distance; /* of the shortest path found so far from the new row to each column */
    size_t *before;   /* the row from which that path enters the column */
    bool *done;       /* the distance of the column is final */
} solver;

static double slack(const solver *s, size_t row, size_t column)
{
    return s->cost[row * s->columns + column] - s->row_price[row] - s->column_price[column];
}

/* Dijkstra's search over slacks from `start` to the nearest free column; NOBODY when there is none in reach. */
static size_t shortest_path(solver *s, size_t start, double *length)
{
    for (size_t j = 0; j < s->columns; j++) {
        s->distance[j] = INFINITY;
        s->done[j] = false;
        s->before[j] = start;
    }
    size_t row = start;
    double reached = 0.0;
    for (;;) {
        size_t next = NOBODY;
        for (size_t j = 0; j < s->columns; j++) {
            if (s->done[j])
                continue;
            const double way = reached + slack(s, row, j);
            if (way < s->distance[j]) {
                s->distance[j] = way;
                s->before[j] = row;
            }
            if (s->distance[j] < INFINITY && (next == NOBODY || s->distance[j] < s->distance[next]))
                next = j;
        }
        if (next == NOBODY)
            return NOBODY;
        s->done[next] = true;
        reached = s->distance[next];
        row = s->row_of_column[next];
        if (row == NOBODY) {
            *length = reached;
            return next;
        }
    }
}

/* Prices change so that all slacks stay >= 0 and those along the path become 0. */
static void change_prices(solver *s, size_t start, size_t end, double length)
{
    s->row_price[start] += length;
    for (size_t j = 0; j < s->columns; j++) {
        if (!s->done[j] || j == end)
            continue;
        const double change = length - s->distance[j];
        s->column_price[j] -= change;
        s->row_price[s->row_of_column[j]] += change;
    }
}

static bool add_row(solver *s, size_t start)
{
    double length = 0.0;
    const size_t end = shortest_path(s, start, &length);
    if (end == NOBODY)
        return false;
    change_prices(s, start, end, length);
    for (size_t column = end;;) {
        const size_t row = s->before[column];
        s->row_of_column[column] = row;
        const size_t given_up = s->column_of_row[row];
        s->column_of_row[row] = column;
        if (row == start)
            return true;
        column = given_up;
    }
}

wh_status wh_assign(const double *cost, size_t rows, size_t columns, size_t *column_of_row, double *row_price,
                    double *column_price)
{
    if (rows > columns)
        return WH_ERR_ARGUMENT;
    if (rows == 0) {
        for (size_t j = 0; j < columns; j++)
            column_price[j] = 0.0;
        return WH_OK;
    }
    solver s = {.cost = cost,
                .rows = rows,
                .columns = columns,
                .row_price = row_price,
                .column_price = column_price,
                .column_of_row = column_of_row,
                .row_of_column = malloc(columns * sizeof *s.row_of_column),
                .distance = malloc(columns * sizeof *s.distance),
                .before = malloc(columns * sizeof *s.before),
                .done = malloc(columns * sizeof *s.done)};
    wh_status status = s.row_of_column && s.distance && s.before && s.done ? WH_OK : WH_ERR_MEMORY;
    if (status == WH_OK) {
        for (size_t j = 0; j < columns; j++) {
            column_price[j] = 0.0;
            s.row_of_column[j] = NOBODY;
        }
        for (size_t i = 0; i < rows; i++) {
            row_price[i] = 0.0;
            column_of_row[i] = NOBODY;
        }
        for (size_t i = 0; i < rows && status == WH_OK; i++)
            if (!add_row(&s, i))
                status = WH_ERR_NOT_FOUND;
    }
    free(s.row_of_column);
    free(s.distance);
    free(s.before);
    free(s.done);
    return status;
}
