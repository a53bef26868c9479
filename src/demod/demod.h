/* Demodulate: one burst at baseband and one kind of radio in, soft chips out. Carrier, deviation, chip clock and
 * levels are estimated from the burst itself. */
#ifndef WH_DEMOD_H
#define WH_DEMOD_H

#include "chips.h"
#include "radio.h"

#include <complex.h>
#include <stddef.h>

/* One isolated burst. */
typedef struct wh_baseband {
    const float complex *samples; /* [count] */
    size_t count;
    double rate_hz;
    double noise_density;  /* noise power per Hz */
    double half_width_hz;  /* the detector saw energy within +- this ... */
    double band_centre_hz; /* ... of this frequency; 0 unless the baseband could not be centred */
} wh_baseband;

/* What the framing knows about how a burst must look. */
typedef struct wh_demod_limits {
    unsigned shortest_chips; /* no frame is shorter; 0 = unknown */
    unsigned longest_chips;  /* no frame is longer; 0 = unknown */
    unsigned zero_run;       /* longest run of 0 chips inside a frame */
} wh_demod_limits;

typedef enum wh_demod_verdict {
    WH_DEMOD_OK, /* at least one emission was given; else how far the best look at the burst came: */
    WH_DEMOD_NO_CLOCK,
    WH_DEMOD_TOO_SHORT,
    WH_DEMOD_WRONG_MODULATION,
    WH_DEMOD_NO_SIGNAL,
    WH_DEMOD_NO_MEMORY
} wh_demod_verdict;

typedef struct wh_demod wh_demod;

/* Called for each contiguous emission of the burst in order of time; the chips are valid during the call. */
typedef void (*wh_chips_fn)(void *context, const wh_chips *chips);

wh_demod *wh_demod_create(void); /* NULL when memory is out */
void wh_demod_destroy(wh_demod **demod);
/* Prepare a burst: what all kinds of radio share is done once. The samples must stay until the next load. */
wh_demod_verdict wh_demod_load(wh_demod *demod, const wh_baseband *baseband);
/* Try one kind of radio on the loaded burst. */
wh_demod_verdict wh_demod_run(wh_demod *demod, const wh_radio *radio, const wh_demod_limits *limits, wh_chips_fn give,
                              void *context);

/* Is the loaded burst plainly of another kind than this radio, so that wh_demod_run would not look at it? */
bool wh_demod_excludes(const wh_demod *demod, const wh_radio *radio);
/* Were edges seen clearly enough to exclude by them? */
bool wh_demod_sees_edges(const wh_demod *demod);
/* How well a radio that is not excluded goes with what was seen of the burst; for comparing radios, higher is
 * likelier. */
double wh_demod_likeness(wh_demod *demod, const wh_radio *radio);
/* Exclude no radio from now on. True when there are signs of a second transmitter beside the likeliest one, so that it
 * is worth while to try the excluded ones. */
bool wh_demod_look_wider(wh_demod *demod, const wh_radio *likeliest);

/* The emission just given (call this while it is) is understood, chip by chip: it is taken out of the burst when it is
 * looked past. `sure`: beyond doubt, so that radios in whose windows it does not lie need no try until then. */
void wh_demod_understood(wh_demod *demod, const wh_radio *radio, const wh_demod_limits *limits, const wh_chips *chips,
                         bool sure);

/* What was decoded with this radio at this carrier (Hz from the baseband's centre) is understood: look past it from
 * now on. True when something else stands out, so that another round of wh_demod_run is worth while. */
bool wh_demod_look_past(wh_demod *demod, const wh_radio *radio, double carrier_hz);

#endif
