/* How a sensor modulates its carrier: what the demodulator needs to know of a descriptor. */
#ifndef WH_DEMOD_RADIO_H
#define WH_DEMOD_RADIO_H

#include <stdbool.h>

typedef enum wh_modulation {
    WH_MOD_FSK, /* binary frequency-shift keying: two tones at centre +- deviation */
    WH_MOD_OOK, /* on-off keying: chip 1 = carrier on */
    WH_MODULATION_COUNT
} wh_modulation;

/* A chip is the shortest element on the air: half a Manchester or biphase bit, one NRZ bit, one time
 * element of a pulse-width code. */
typedef struct wh_radio {
    wh_modulation modulation;
    double chip_rate_hz;        /* nominal, 1e3 .. 50e3 */
    double rate_tolerance;      /* fraction of the rate, 0 .. 0.10; default 0.05 */
    double deviation_hz;        /* FSK: from centre to either tone, 5e3 .. 80e3 (tones are 2 x this apart); OOK: 0 */
    double deviation_tolerance; /* fraction, 0 .. 0.5; default 0.25 */
    bool low_tone_is_one;       /* FSK: chip 1 is the lower tone. Default false: the higher */
} wh_radio;

#endif
