/* Emissions of one radio as soft chips, with their first and last chip drawn as exactly as the signal allows. */
#ifndef WH_EMISSION_SET_H
#define WH_EMISSION_SET_H

#include "burst_store.h"
#include "chips.h"
#include "demod.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_study_emission {
    size_t burst; /* of the store */
    size_t count;
    float *llr; /* [count] ln P(1)/P(0) of each chip; owned */
    float *on;  /* [count] how much more than half on a chip is by its energy, -0.3..0.9; owned */
    bool keyed; /* on-off keying */
    double chip_s, carrier_hz, deviation_hz, snr_db; /* carrier relative to the centre of the burst's samples */
    size_t begin, end; /* chips [begin, end) were sent; trailing zeros of on-off keying do not show */
    double begin_s;    /* of chip `begin`, seconds from the start of the recording */
    long column0;      /* alignment: chip k stands in column k + column0 */
    bool aligned;
    bool strong; /* chips are right but for one in a thousand or so */
} wh_study_emission;

typedef struct wh_emission_set {
    wh_study_emission *items;
    size_t count, capacity;
    bool failed; /* memory ran out */
} wh_emission_set;

void wh_emission_set_free(wh_emission_set *set);
/* Demodulate a burst with a radio and keep what comes out; of emissions at the same time the first hypothesis is kept. */
void wh_emission_set_add(wh_emission_set *set, wh_demod *demod, const wh_study_burst *burst, size_t index,
                         const wh_radio *radio, const wh_demod_limits *limits);

/* Cut an emission that repeats itself every `period` chips into copies, which end where it ends. */
void wh_emission_set_cut(wh_emission_set *set, size_t index, size_t period);
void wh_study_emission_free(wh_study_emission *emission);

/* ln P(1)/P(0) of the chip in a column, 0 where nothing was sent. */
static inline float wh_emission_at(const wh_study_emission *emission, long column)
{
    const long k = column - emission->column0;
    return k >= (long)emission->begin && k < (long)emission->end ? emission->llr[k] : 0.0f;
}
static inline long wh_emission_first_column(const wh_study_emission *emission)
{
    return (long)emission->begin + emission->column0;
}
static inline long wh_emission_end_column(const wh_study_emission *emission)
{
    return (long)emission->end + emission->column0;
}

#endif
