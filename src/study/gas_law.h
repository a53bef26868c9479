/* Pressure and temperature by physics alone: in a tire from which no air is let and into which none is put,
 *     p / T = constant,  p absolute, T in kelvin,
 * so two slow numbers of which one is the pressure and one the temperature rise and fall together, and by how much is told by
 * how far both are above their zero. IDs, counters and checks do no such thing. */
#ifndef WH_GAS_LAW_H
#define WH_GAS_LAW_H

#include "columns.h"

#define WH_GAS_PAIRS_MAX 4

typedef struct wh_gas_pair {
    unsigned pressure, temperature; /* indices of wh_columns.number */
    double correlation;             /* of their steps from frame to frame */
    unsigned steps;                 /* looked at */
    double chance;      /* of such a correlation between numbers that have nothing to do with each other, times the
                                       pairs looked at */
    double zero_counts; /* counts of temperature from absolute zero to count 0, were the pressure absolute */
} wh_gas_pair;

typedef struct wh_gas_law {
    unsigned count; /* most convincing first */
    wh_gas_pair pair[WH_GAS_PAIRS_MAX];
} wh_gas_law;

/* Frames of a sensor in one recording between which the pressure jumps (somebody let air in or out) are taken as two groups. */
void wh_gas_law_run(const wh_field_rows *rows, const wh_columns *columns, wh_gas_law *out);

#endif
