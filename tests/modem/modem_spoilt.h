/* Frames that something spoils: the transmitter, the way, the receiver or somebody else. Samples are made piece by piece
 * and go straight into the receiver. */
#ifndef MODEM_SPOILT_H
#define MODEM_SPOILT_H

#include "modem_calibration.h"
#include "noise_pool.h"
#include "wheelhark/descriptor.h"

#include <stdbool.h>
#include <stddef.h>

/* All zero: nothing but noise. Decibels above something count when the number beside them is not zero. */
typedef struct modem_spoil {
    /* the transmitter */
    double drift_hz;        /* the carrier moves this far over every copy, up or down */
    double linewidth_hz;    /* the carrier's phase walks at random: width of its line at half power */
    double rate_error;      /* exactly this, fast or slow; 0: anything within 3 % */
    double deviation_error; /* exactly this, wide or narrow; 0: anything within 10 % */
    /* the way: Eb counts the undisturbed direct ray */
    double dip_db;        /* a raised-cosine dip half as long as the frame, anywhere in it */
    double ray_s, ray_db; /* a second ray this much later and stronger (negative: weaker), of any phase */
    /* the receiver */
    double dc;                /* added to I and Q, 1 = full scale */
    double image_db;          /* the conjugate of everything is added, this strong (negative) */
    double full_scale_factor; /* amplitude of the frame, 1 = full scale, instead of Eb/N0 */
    /* others; strengths over that of the frame while it is on */
    double carrier_db, carrier_off_hz;         /* steady, this far from the frame's centre within 2 kHz */
    bool begins_late;                          /* what is steady begins with the first frame, not 0.4 s earlier */
    bool other;                                /* another sensor of the same kind sends over part of the frame */
    double other_db, other_off_hz;             /* this far from the frame's centre, above or below */
    bool other_mirrored;                       /* ... or on the frame's mirror frequency */
    double pulses_db, pulse_s, pulse_period_s; /* anywhere within 50 kHz of the frame's centre */
    double sweep_db, sweep_hz, sweep_s;        /* one sweep over the frame's band, somewhere in the frame */
    unsigned copies;                           /* of the frame, and of the other one's; 0: one */
} modem_spoil;

typedef struct modem_spoilt {
    size_t frames;
    size_t believed, other_believed, both_believed; /* right frame at confidence 0.5 or more */
    size_t alone;                                   /* a copy of the frame overlaps none of the other's */
    size_t wrong_believed, wrong_sure;              /* readings nobody sent, at 0.5 and at 0.9 */
    modem_reliability reliability;                  /* of all readings */
} modem_spoilt;

/* `frames` transmissions of `descriptor`, the only member of `set`, at 1.024 MS/s in converter bytes over noise of 2 steps. False
 * when memory is out. */
bool modem_spoilt_measure(const wh_descriptor_set *set, const wh_descriptor *descriptor, const modem_spoil *spoil,
                          const noise_pool *pool, double eb_db, size_t frames, uint64_t seed, modem_spoilt *result);

#endif
