#include "rival_trial.h"

#include "frame_fields.h"
#include "rng.h"
#include "synth_chips.h"
#include "synth_scene.h"
#include "wheelhark/receiver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ       500e3 /* holds 110 kHz of tolerance and 80 kHz of deviation on either side */
#define NOISE_RATE_HZ 250e3 /* of noise alone: it is the same everywhere, and half as much of it takes half the time */
#define OFFSET_HZ     40e3  /* the signal is kept off 0 Hz, where the tuner's spike would be */
#define NOISE_DBFS    (-40.0)
#define REST_S        0.3  /* before the first: the noise floor is measured in a quarter of a second */
#define SPACING_S     0.03 /* from frame to frame: longer than any pause within a burst */
#define BLOCK         32768

typedef struct hearing {
    const wh_descriptor_set *hearers;
    wh_trial_result *result;
} hearing;

static void on_reading(void *context, const wh_reading *reading)
{
    hearing *h = context;
    for (size_t i = 0; i < WH_TRIAL_HEARERS_MAX && i < wh_descriptor_set_count(h->hearers); i++) {
        if (strcmp(wh_descriptor_name(wh_descriptor_set_at(h->hearers, i)), reading->descriptor) != 0)
            continue;
        h->result->read[i]++;
        h->result->confidence[i] += reading->confidence;
    }
}

bool wh_trial_same_band(const wh_descriptor *one, const wh_descriptor *other, double *near_hz)
{
    double least = INFINITY;
    for (unsigned i = 0; i < one->carrier_count; i++) {
        for (unsigned k = 0; k < other->carrier_count; k++) {
            const double apart = fabs(one->carriers_hz[i] - other->carriers_hz[k]);
            if (apart >= least)
                continue;
            least = apart;
            *near_hz = one->carriers_hz[i];
        }
    }
    return least <= one->carrier_tolerance_hz + other->carrier_tolerance_hz;
}

static double carrier_near(const wh_descriptor *descriptor, double near_hz)
{
    double best = descriptor->carriers_hz[0];
    for (unsigned i = 1; near_hz > 0 && i < descriptor->carrier_count; i++)
        if (fabs(descriptor->carriers_hz[i] - near_hz) < fabs(best - near_hz))
            best = descriptor->carriers_hz[i];
    return best;
}

/* All bits at random; unless forged, constants and checks are then put right. */
static void random_frame(const wh_descriptor *descriptor, bool forged, wh_rng *rng, wh_frame_bits *frame)
{
    uint8_t fixed[WH_FRAME_BITS_MAX / 8] = {0};
    wh_frame_blank(descriptor, frame);
    if (!forged)
        wh_constant_bits(descriptor, fixed);
    for (unsigned i = 0; i < frame->count; i++) {
        const uint8_t mask = (uint8_t)(0x80u >> (i % 8));
        if (!(fixed[i / 8] & mask))
            frame->data[i / 8] = (uint8_t)((frame->data[i / 8] & ~mask) | (wh_rng_next(rng) >> 63 ? mask : 0));
    }
    if (!forged)
        wh_checks_write(descriptor, frame);
}

/* An example with another sensor's ID: values stay as sensors send them. */
static bool example_frame(const wh_descriptor *descriptor, wh_rng *rng, wh_frame_bits *frame)
{
    if (descriptor->example_count == 0)
        return false;
    const wh_example *example = &descriptor->examples[wh_rng_below(rng, descriptor->example_count)];
    frame->count = example->bits;
    memcpy(frame->data, example->frame, sizeof frame->data);
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        if (field->role == WH_ROLE_SENSOR)
            wh_places_write(frame, &field->at, field->low_bit_first, field->low_byte_first, wh_rng_next(rng));
    }
    wh_checks_write(descriptor, frame);
    return true;
}

static wh_status add_frames(const wh_trial *trial, const wh_transmission *pattern, double spacing_s, wh_rng *rng,
                            wh_scene *scene, wh_error *error)
{
    wh_status status = WH_OK;
    for (unsigned i = 0; status == WH_OK && i < trial->transmissions; i++) {
        wh_transmission t = *pattern;
        t.start_s = REST_S + i * spacing_s;
        if (trial->air == WH_AIR_FORGED || i % 2 == 0 || !example_frame(trial->sender, rng, &t.frame))
            random_frame(trial->sender, trial->air == WH_AIR_FORGED, rng, &t.frame);
        status = wh_scene_add(scene, &t, error);
    }
    return status;
}

typedef struct keyed {
    wh_recording_burst *burst;
    size_t count;
} keyed;

static void free_keyed(keyed *k)
{
    for (size_t i = 0; i < k->count; i++)
        wh_wave_destroy(&k->burst[i].wave);
    free(k->burst);
}

/* Chips at random, as many as a frame has. */
static wh_status add_keyed(const wh_trial *trial, const wh_transmission *pattern, double spacing_s, size_t chip_count,
                           wh_rng *rng, keyed *out, wh_error *error)
{
    uint8_t *chips = malloc(chip_count);
    out->burst = calloc(trial->transmissions + 1u, sizeof *out->burst);
    bool good = chips && out->burst;
    for (unsigned i = 0; good && i < trial->transmissions; i++) {
        for (size_t k = 0; k < chip_count; k++)
            chips[k] = (uint8_t)(wh_rng_next(rng) >> 63);
        chips[0] = chips[chip_count - 1] = 1;
        const wh_wave_spec spec = {.radio = trial->sender->radio,
                                   .carrier_hz = pattern->carrier_hz,
                                   .start_s = REST_S + i * spacing_s,
                                   .edge_s = pattern->edge_s,
                                   .amplitude = pattern->amplitude};
        out->burst[i].wave = wh_wave_create(&spec, chips, chip_count);
        good = out->burst[i].wave != NULL;
        out->count += good;
    }
    free(chips);
    return good ? WH_OK : wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for transmissions");
}

static wh_status listen_to(const wh_trial *trial, wh_recording *recording, const wh_stream *stream,
                           bool (*enough)(void), wh_trial_result *result, wh_error *error)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    hearing h = {trial->hearers, result};
    const wh_receiver_sink sink = {.context = &h, .reading = on_reading};
    wh_receiver *receiver = NULL;
    unsigned char *block = malloc(BLOCK * wh_iq_bytes(stream->format));
    wh_status status = block ? wh_receiver_create(&config, trial->hearers, &sink, &receiver, error)
                             : wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for samples");
    if (status == WH_OK)
        status = wh_receiver_begin(receiver, stream, error);
    uint64_t samples = 0;
    size_t count;
    while (status == WH_OK && !(enough && enough()) &&
           (count = wh_recording_read_native(recording, block, BLOCK)) > 0) {
        status = wh_receiver_push(receiver, block, count);
        samples += count;
        if (status != WH_OK)
            wh_fail(error, status, "close other programs", "the trial failed: %s", wh_status_name(status));
    }
    if (receiver && status == WH_OK)
        status = wh_receiver_finish(receiver);
    result->seconds = (double)samples / stream->sample_rate_hz;
    wh_receiver_destroy(&receiver);
    free(block);
    return status;
}

/* Chips of one frame, and how long it takes. */
static wh_status frame_length(const wh_descriptor *descriptor, size_t *chips, double *seconds, wh_error *error)
{
    wh_frame_bits frame;
    uint8_t *buffer;
    wh_frame_blank(descriptor, &frame);
    const wh_status status = wh_synth_chips(descriptor, &frame, &buffer, chips, error);
    if (status != WH_OK)
        return status;
    free(buffer);
    *seconds = (double)*chips / descriptor->radio.chip_rate_hz;
    return WH_OK;
}

wh_status wh_trial_run(const wh_trial *trial, bool (*enough)(void), wh_trial_result *result, wh_error *error)
{
    const wh_descriptor *sender = trial->sender;
    const bool only_noise = trial->air == WH_AIR_NOISE_ONLY;
    const double rate_hz = only_noise ? NOISE_RATE_HZ : RATE_HZ;
    const double noise = pow(10.0, NOISE_DBFS / 10.0), carrier = carrier_near(sender, trial->near_hz);
    const wh_transmission pattern = {
        .descriptor = sender,
        .copies = 1,
        .amplitude = wh_snr_amplitude(trial->snr_db, sender->radio.chip_rate_hz, noise, rate_hz),
        .carrier_hz = OFFSET_HZ,
        .edge_s = 0.1 / sender->radio.chip_rate_hz,
    };
    *result = (wh_trial_result){0};
    wh_rng rng;
    wh_rng_seed(&rng, trial->seed);
    wh_scene *scene = wh_scene_create(trial->seed);
    keyed chance = {0};
    size_t chips = 0, count = 0;
    double frame_s = 0.0;
    wh_status status = scene ? frame_length(sender, &chips, &frame_s, error)
                             : wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for a scene");
    const double spacing_s = SPACING_S + 1.2 * frame_s;
    if (status == WH_OK && trial->air == WH_AIR_KEYED)
        status = add_keyed(trial, &pattern, spacing_s, chips, &rng, &chance, error);
    else if (status == WH_OK && !only_noise)
        status = add_frames(trial, &pattern, spacing_s, &rng, scene, error);
    const double length_s = only_noise ? trial->seconds : 2.0 * REST_S + trial->transmissions * spacing_s;
    const wh_recording_spec spec = {.format = WH_IQ_CU8,
                                    .sample_rate_hz = rate_hz,
                                    .centre_hz = carrier - OFFSET_HZ,
                                    .samples = (uint64_t)(length_s * rate_hz),
                                    .noise_power = noise,
                                    .seed = trial->seed};
    wh_stream stream = {.format = spec.format, .sample_rate_hz = rate_hz, .centre_hz = spec.centre_hz};
    snprintf(stream.name, sizeof stream.name, "trial");
    wh_recording *recording = NULL;
    const wh_recording_burst *bursts = status == WH_OK ? wh_scene_bursts(scene, &count) : NULL;
    if (trial->air == WH_AIR_KEYED) {
        bursts = chance.burst;
        count = chance.count;
    }
    if (status == WH_OK)
        status = wh_recording_create(&spec, bursts, count, &recording, error);
    if (status == WH_OK)
        status = listen_to(trial, recording, &stream, enough, result, error);
    result->sent = only_noise ? 0 : trial->transmissions;
    for (size_t i = 0; i < WH_TRIAL_HEARERS_MAX; i++)
        result->confidence[i] /= result->read[i] ? (double)result->read[i] : 1.0;
    wh_recording_destroy(&recording);
    free_keyed(&chance);
    wh_scene_destroy(&scene);
    return status;
}
