/* Many transmissions with random frames, carriers, rates and levels in one recording of bytes, as a dongle would
 * give it, and the whole receiver over it. */
#ifndef MODEM_AIR_H
#define MODEM_AIR_H

#include "frame_fields.h"
#include "wheelhark/receiver.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct modem_air_spec {
    const wh_descriptor *const *descriptors; /* transmissions take them in turn */
    size_t descriptor_count;
    size_t count;    /* transmissions */
    unsigned copies; /* 0: as the descriptor says */
    double sample_rate_hz;
    double eb_low_db,
        eb_high_db; /* energy of an information bit over N0, drawn evenly in dB. On-off keying: mean over on and off */
    double carrier_spread_hz;             /* centres lie within +- this */
    double rate_spread, deviation_spread; /* fractions, +- */
    uint64_t seed;
} modem_air_spec;

/* The figures of the specification that all reports share: 1.024 MS/s, +-50 kHz, +-3 %, +-10 %. */
modem_air_spec modem_air_usual(void);

/* What was sent. */
typedef struct modem_sent {
    const wh_descriptor *descriptor;
    wh_frame_bits frame;
    double eb_db, carrier_hz, rate_error, deviation_error;
    double start_s, end_s; /* first chip of the first copy, end of the last */
} modem_sent;

typedef struct modem_air {
    double sample_rate_hz;
    size_t sent_count;
    modem_sent *sent; /* in order of time; owned */
    size_t sample_count;
    uint8_t *samples; /* cu8, [2 x sample_count]; owned */
} modem_air;

/* Noise has a standard deviation of 4 steps of the converter in each of I and Q: rounding costs 0.02 dB. NULL when
 * memory is out or the specification makes no sense. */
modem_air *modem_air_create(const modem_air_spec *spec);
void modem_air_destroy(modem_air **air);

/* `reading` is called with what was being sent at that time, or NULL when nothing was. Readings of any confidence
 * come. */
typedef void (*modem_reading_fn)(void *context, const wh_reading *reading, const modem_sent *sent);
bool modem_air_receive(const modem_air *air, const wh_descriptor_set *set, modem_reading_fn reading, void *context);

/* All bits of the frame as sent? */
bool modem_frame_right(const wh_reading *reading, const modem_sent *sent);
/* Kind, sensor ID and all values as sent? What confidence speaks of. */
bool modem_values_right(const wh_reading *reading, const modem_sent *sent);

#endif
