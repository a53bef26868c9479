/* Samples to be timed on: bytes as a dongle gives them, with a steady number of transmissions a second. */
#ifndef BENCH_AIR_H
#define BENCH_AIR_H

#include "wheelhark/descriptor.h"

#include <stddef.h>
#include <stdint.h>

#define BENCH_RATE_HZ   2.4e6
#define BENCH_CENTRE_HZ 433.6e6

typedef struct bench_air {
    size_t count;     /* complex samples */
    uint8_t *samples; /* cu8, owned */
    size_t bursts;
} bench_air;

/* `seconds` of noise with `bursts_per_s` frames of the descriptors in turn, snr_db over the noise in a chip rate's
 * band, at random times (they may overlap) and up to 110 kHz off the descriptor's carrier, or of 433.92 MHz when
 * that lies outside the band. The same every time. NULL samples when memory is out. */
bench_air bench_air_make(const wh_descriptor_set *set, double seconds, double bursts_per_s, double snr_db);
/* A busy yard: 40 activations a minute of the descriptors in turn, 3 to 8 copies each with pauses from the descriptor's range; each fifth
 * begins within 10 ms of the one before, so that they collide. Levels from 10 to 30 dB; places in the band as above. */
bench_air bench_air_yard(const wh_descriptor_set *set, double seconds);
void bench_air_free(bench_air *air);

#endif
