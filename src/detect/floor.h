/* The noise floor: expected noise power per bin. */
#ifndef WH_NOISE_FLOOR_H
#define WH_NOISE_FLOOR_H

#include <stdbool.h>
#include <stddef.h>

/* Slots looked at before the first decision. At about a millisecond each this is a quarter of a second: long against a
 * burst, so that the lower fifth of a bin's powers is noise, or something that never stops. */
#define WH_FLOOR_START_SLOTS 256

typedef struct wh_noise_floor {
    size_t bins;
    float *power;   /* [bins] current estimate, mean noise power; owned */
    float *scratch; /* owned */
    float least;    /* numeric floor: recordings without any noise */
} wh_noise_floor;

bool wh_noise_floor_init(wh_noise_floor *floor, size_t bins, float least);
void wh_noise_floor_free(wh_noise_floor *floor);
/* First estimate from `slots` (1..WH_FLOOR_START_SLOTS) spectra [slots x bins] in order of frequency, each bin the mean of
 * `averages` effectively independent powers. */
void wh_noise_floor_start(wh_noise_floor *floor, const float *spectra, size_t slots, double averages);
/* The floor follows once in so many slots: as steady as every slot, a quarter of the work, and a single low slot does not
 * pull it down. */
#define WH_FLOOR_FOLLOW_SLOTS 4
/* `ratio_sum`: power over this floor, [bins], summed over the last WH_FLOOR_FOLLOW_SLOTS slots; bins with held[i] != 0 are left
 * alone. */
void wh_noise_floor_follow(wh_noise_floor *floor, const float *ratio_sum, const unsigned char *held);

#endif
