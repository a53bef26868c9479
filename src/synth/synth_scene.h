/* What sensors send: activations of several copies, collected into bursts for a recording. */
#ifndef WH_SYNTH_SCENE_H
#define WH_SYNTH_SCENE_H

#include "frame_fields.h"
#include "rng.h"
#include "synth_recording.h"

/* One activation: the same frame a few times. */
typedef struct wh_transmission {
    const wh_descriptor *descriptor;
    wh_frame_bits frame;
    unsigned copies;   /* 0: as many as the descriptor says */
    double gap_s;      /* carrier-off time between copies; negative: drawn from the descriptor's range */
    double start_s;    /* first chip of the first copy */
    double amplitude;  /* while on; 1 = full scale */
    double carrier_hz; /* baseband frequency of the centre */
    double drift_hz;   /* over each copy */
    double rate_error, deviation_error; /* fractions */
    double edge_s;
} wh_transmission;

typedef struct wh_scene wh_scene;

/* `seed` draws gaps and carrier phases. NULL when memory is out. */
wh_scene *wh_scene_create(uint64_t seed);
void wh_scene_destroy(wh_scene **scene);
/* Add one activation. The descriptor may go afterwards. Fails when the transmission makes no sense. */
wh_status wh_scene_add(wh_scene *scene, const wh_transmission *transmission, wh_error *error);
/* The bursts so far, owned by the scene, valid until the next add. */
const wh_recording_burst *wh_scene_bursts(const wh_scene *scene, size_t *count);
/* End of the last burst, seconds; 0 without bursts. */
double wh_scene_end(const wh_scene *scene);

#endif
