#include "synth_scene.h"

#include "synth_chips.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define TWO_PI     6.283185307179586476925286766559
#define COPIES_MAX 1000
#define BURSTS_MAX 1000000

struct wh_scene {
    wh_recording_burst *bursts;
    size_t count, capacity;
    double end_s;
    wh_rng rng;
};

wh_scene *wh_scene_create(uint64_t seed)
{
    wh_scene *scene = calloc(1, sizeof *scene);
    if (scene)
        wh_rng_seed(&scene->rng, seed);
    return scene;
}

void wh_scene_destroy(wh_scene **scene)
{
    if (!*scene)
        return;
    for (size_t i = 0; i < (*scene)->count; i++)
        wh_wave_destroy(&(*scene)->bursts[i].wave);
    free((*scene)->bursts);
    free(*scene);
    *scene = NULL;
}

const wh_recording_burst *wh_scene_bursts(const wh_scene *scene, size_t *count)
{
    *count = scene->count;
    return scene->bursts;
}

double wh_scene_end(const wh_scene *scene)
{
    return scene->end_s;
}

static bool make_room(wh_scene *scene, size_t more)
{
    if (scene->count + more > BURSTS_MAX)
        return false;
    if (scene->count + more <= scene->capacity)
        return true;
    const size_t capacity = (scene->count + more) * 2;
    wh_recording_burst *bursts = realloc(scene->bursts, capacity * sizeof *bursts);
    if (!bursts)
        return false;
    scene->bursts = bursts;
    scene->capacity = capacity;
    return true;
}

/* One copy; returns when it ends, or a negative number when it makes no sense. */
static double add_copy(wh_scene *scene, const wh_transmission *t, const uint8_t *chips, size_t chip_count,
                       double start_s, unsigned copy, unsigned copies)
{
    const wh_wave_spec spec = {
        .radio = t->descriptor->radio,
        .rate_error = t->rate_error,
        .deviation_error = t->deviation_error,
        .carrier_hz = t->carrier_hz,
        .drift_hz = t->drift_hz,
        .start_s = start_s,
        .edge_s = t->edge_s,
        .amplitude = t->amplitude,
        .phase = TWO_PI * wh_rng_uniform(&scene->rng),
    };
    wh_recording_burst *burst = &scene->bursts[scene->count];
    burst->wave = wh_wave_create(&spec, chips, chip_count);
    if (!burst->wave)
        return -1.0;
    wh_reading reading;
    wh_fields_decode(t->descriptor, &t->frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &reading);
    snprintf(burst->label, sizeof burst->label, "%.20s", reading.sensor);
    snprintf(burst->comment, sizeof burst->comment, "%s, copy %u of %u", t->descriptor->name, copy + 1, copies);
    scene->count++;
    return start_s + wh_wave_duration(burst->wave);
}

wh_status wh_scene_add(wh_scene *scene, const wh_transmission *t, wh_error *error)
{
    const wh_descriptor *descriptor = t->descriptor;
    const unsigned copies = t->copies ? t->copies : descriptor->copies ? descriptor->copies : 1;
    if (copies > COPIES_MAX)
        return wh_fail(error, WH_ERR_LIMIT, "choose at most 1000 copies", "%u copies are too many", copies);
    if (!make_room(scene, copies))
        return wh_fail(error, WH_ERR_MEMORY, "make several recordings", "no room for %u further bursts", copies);
    uint8_t *chips = NULL;
    size_t chip_count = 0;
    const wh_status status = wh_synth_chips(descriptor, &t->frame, &chips, &chip_count, error);
    if (status != WH_OK)
        return status;
    double at = t->start_s;
    for (unsigned copy = 0; copy < copies; copy++) {
        const double end = add_copy(scene, t, chips, chip_count, at, copy, copies);
        if (end < 0.0) {
            free(chips);
            return wh_fail(error, WH_ERR_ARGUMENT, "an edge is at most one chip long, a start not negative",
                           "a transmission of %s with these figures is not possible", descriptor->name);
        }
        scene->end_s = fmax(scene->end_s, end);
        const double spread = descriptor->gap_max_s - descriptor->gap_min_s;
        const double drawn = descriptor->gap_min_s + spread * wh_rng_uniform(&scene->rng);
        at = end + (t->gap_s < 0.0 ? drawn : t->gap_s);
    }
    free(chips);
    return WH_OK;
}
