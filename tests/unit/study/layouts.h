/* Invented frame layouts at random, at the level of bits: fields in any order, checks of several kinds, three sensors that are
 * inflated and warmed while a gauge and a thermometer are read. */
#ifndef WH_TEST_LAYOUTS_H
#define WH_TEST_LAYOUTS_H

#include "field_study.h"
#include "rng.h"
#include "text_buffer.h"

typedef struct layout {
    unsigned columns;
    unsigned family_bits, id_at, id_bits, pressure_at, pressure_bits, temperature_at, status_at, counter_at,
        counter_bits;
    uint32_t family;
    bool pressure_low_byte_first, absolute, inverted;
    double pressure_scale, pressure_offset, temperature_offset; /* as the sensor counts */
    wh_check check;
    bool has_check;
} layout;

typedef struct truth_state {
    double gauge_kpa, temperature_c;
} truth_state;

#define LAYOUT_AIR_KPA 98.7 /* of the place where the recordings are made */

void layout_random(wh_rng *rng, layout *out);
/* The frame of one state, as it is sent (with the sense of the line code). */
void layout_frame(const layout *l, uint64_t id, truth_state now, unsigned status, unsigned counter,
                  wh_frame_bits *frame);

typedef struct scene {
    wh_frame_table table;
    uint64_t id[3];
    wh_text truth; /* a table as wh_truth_read wants it */
} scene;

/* `frames` of each of three sensors, one recording each ("one", "two", "three"). `printed`: the truth names the IDs as printed,
 * else "red", "green", "blue". `with_air`: the air pressure was measured. */
void scene_make(wh_rng *rng, const layout *l, unsigned frames, bool printed, bool with_air, scene *out);
void scene_free(scene *s);

extern const char *const scene_recordings[3];

#endif
