#include "kind_radio.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_TOLERANCE      0.05 /* what a descriptor takes without a word */
#define DEVIATION_TOLERANCE 0.25
#define CARRIER_GAP_HZ      60e3 /* crystals of one band differ by less; bands and channels by more */
#define CARRIER_ROUND_HZ    10e3

static int by_number(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median, and its standard error if `independent` of the values are: copies of one transmitter have its error in common. */
static wh_measured middle_of(double *value, size_t count, size_t independent, double *spread)
{
    qsort(value, count, sizeof *value, by_number);
    const double median = value[count / 2];
    double squares = 0.0;
    for (size_t i = 0; i < count; i++)
        squares += (value[i] - median) * (value[i] - median);
    const double deviation = sqrt(squares / (double)(count > 1 ? count - 1 : 1));
    *spread = deviation / fabs(median > 0.0 ? median : 1.0);
    const wh_certainty certainty = count >= 6 && *spread < 0.02 ? WH_CERTAIN : count >= 2 ? WH_LIKELY : WH_OPEN;
    return (wh_measured){median, deviation / sqrt((double)(independent ? independent : 1)), certainty};
}

static void find_carriers(double *carrier, size_t count, wh_kind_estimate *kind)
{
    qsort(carrier, count, sizeof *carrier, by_number);
    size_t from = 0;
    for (size_t i = 1; i <= count && kind->carrier_count < WH_KIND_CARRIERS_MAX; i++) {
        if (i < count && carrier[i] - carrier[i - 1] < CARRIER_GAP_HZ)
            continue;
        const double median = carrier[from + (i - from) / 2];
        kind->carriers_hz[kind->carrier_count++] =
            kind->carriers_known ? round(median / CARRIER_ROUND_HZ) * CARRIER_ROUND_HZ : median;
        from = i;
    }
}

bool wh_kind_radio(wh_burst_store *store, const wh_emission_set *set, wh_kind_estimate *kind)
{
    double *value = malloc((3 * set->count + 3) * sizeof *value);
    unsigned char recordings[WH_STUDY_RECORDINGS_MAX] = {0};
    if (!value)
        return false;
    double *rate = value, *deviation = value + set->count, *carrier = value + 2 * set->count;
    size_t count = 0, independent = 0;
    kind->carriers_known = true;
    bool keyed = false;
    for (size_t i = 0; i < set->count; i++) {
        const wh_study_emission *e = &set->items[i];
        if (!e->aligned)
            continue;
        const wh_study_burst *burst = wh_burst_store_at(store, e->burst);
        keyed = e->keyed;
        rate[count] = 1.0 / e->chip_s;
        deviation[count] = e->deviation_hz;
        carrier[count++] = burst->centre_hz + e->carrier_hz;
        kind->carriers_known = kind->carriers_known && burst->centre_known;
        independent += !recordings[burst->recording];
        recordings[burst->recording] = 1;
        kind->clipped_bursts += burst->clipped;
    }
    kind->radio = (wh_radio){.modulation = keyed ? WH_MOD_OOK : WH_MOD_FSK, .rate_tolerance = RATE_TOLERANCE};
    kind->modulation = count >= 3 ? WH_CERTAIN : WH_LIKELY;
    if (count > 0) {
        kind->chip_rate_hz = middle_of(rate, count, independent, &kind->rate_spread);
        kind->radio.chip_rate_hz = kind->chip_rate_hz.value;
        if (!keyed) {
            kind->deviation_hz = middle_of(deviation, count, independent, &kind->deviation_spread);
            kind->radio.deviation_hz = kind->deviation_hz.value;
            kind->radio.deviation_tolerance = DEVIATION_TOLERANCE;
        }
        find_carriers(carrier, count, kind);
    }
    free(value);
    return true;
}
