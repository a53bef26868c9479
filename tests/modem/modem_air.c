#include "modem_air.h"

#include "line_code.h"
#include "modem_frame.h"
#include "modem_theory.h"
#include "synth_recording.h"
#include "synth_scene.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NOISE_STEPS  4.0
#define REST_S       0.04 /* between transmissions: longer than any pause inside a burst */
#define LEAD_S       0.4  /* the detector listens for a quarter of a second before it trusts its noise floor */
#define TIME_SLACK_S 0.008

modem_air_spec modem_air_usual(void)
{
    return (modem_air_spec){.copies = 1,
                            .sample_rate_hz = 1.024e6,
                            .carrier_spread_hz = 50e3,
                            .rate_spread = 0.03,
                            .deviation_spread = 0.10};
}

static double between(wh_rng *rng, double low, double high)
{
    return low + (high - low) * wh_rng_uniform(rng);
}

static wh_status add_transmission(const modem_air_spec *spec, wh_scene *scene, wh_rng *rng, modem_sent *sent)
{
    const double noise = 2.0 * (NOISE_STEPS / 127.5) * (NOISE_STEPS / 127.5);
    const wh_radio *radio = &sent->descriptor->radio;
    modem_frame_draw(sent->descriptor, rng, &sent->frame);
    sent->eb_db = between(rng, spec->eb_low_db, spec->eb_high_db);
    sent->carrier_hz = between(rng, -spec->carrier_spread_hz, spec->carrier_spread_hz);
    sent->rate_error = between(rng, -spec->rate_spread, spec->rate_spread);
    sent->deviation_error =
        radio->modulation == WH_MOD_FSK ? between(rng, -spec->deviation_spread, spec->deviation_spread) : 0.0;
    /* What may be a further copy of the last activation is not the next one. */
    const double rest = spec->copies == 1 ? REST_S : fmax(REST_S, 1.6 * sent->descriptor->gap_max_s);
    sent->start_s = fmax(LEAD_S, wh_scene_end(scene) + between(rng, rest, 1.2 * rest));
    const double on_db = sent->eb_db - 10.0 * log10(modem_frame_on_chips(sent->descriptor, &sent->frame));
    const double rate = radio->chip_rate_hz * (1.0 + sent->rate_error);
    const wh_transmission t = {
        .descriptor = sent->descriptor,
        .frame = sent->frame,
        .copies = spec->copies,
        .gap_s = -1.0,
        .start_s = sent->start_s,
        .amplitude = wh_snr_amplitude(on_db, rate, noise, spec->sample_rate_hz),
        .carrier_hz = sent->carrier_hz,
        .rate_error = sent->rate_error,
        .deviation_error = sent->deviation_error,
    };
    const wh_status status = wh_scene_add(scene, &t, NULL);
    sent->end_s = wh_scene_end(scene);
    return status;
}

static bool record(modem_air *air, const wh_scene *scene, uint64_t seed)
{
    const double noise = 2.0 * (NOISE_STEPS / 127.5) * (NOISE_STEPS / 127.5);
    size_t burst_count = 0;
    const wh_recording_burst *bursts = wh_scene_bursts(scene, &burst_count);
    air->sample_count = (size_t)ceil((wh_scene_end(scene) + 2.0 * REST_S) * air->sample_rate_hz);
    const wh_recording_spec spec = {
        .format = WH_IQ_CU8,
        .sample_rate_hz = air->sample_rate_hz,
        .samples = air->sample_count,
        .noise_power = noise,
        .seed = seed,
    };
    air->samples = malloc(2 * air->sample_count);
    wh_recording *recording = NULL;
    if (!air->samples || wh_recording_create(&spec, bursts, burst_count, &recording, NULL) != WH_OK)
        return false;
    const size_t got = wh_recording_read_native(recording, air->samples, air->sample_count);
    wh_recording_destroy(&recording);
    return got == air->sample_count;
}

modem_air *modem_air_create(const modem_air_spec *spec)
{
    wh_rng rng;
    wh_rng_seed(&rng, spec->seed);
    modem_air *air = calloc(1, sizeof *air);
    wh_scene *scene = wh_scene_create(spec->seed + 1);
    bool ok = air && scene;
    if (ok) {
        air->sample_rate_hz = spec->sample_rate_hz;
        air->sent = calloc(spec->count, sizeof *air->sent);
        ok = air->sent != NULL;
    }
    for (size_t i = 0; ok && i < spec->count; i++) {
        air->sent[i].descriptor = spec->descriptors[i % spec->descriptor_count];
        ok = add_transmission(spec, scene, &rng, &air->sent[i]) == WH_OK;
        air->sent_count++;
    }
    ok = ok && record(air, scene, spec->seed + 2);
    wh_scene_destroy(&scene);
    if (!ok)
        modem_air_destroy(&air);
    return air;
}

void modem_air_destroy(modem_air **air)
{
    if (!*air)
        return;
    free((*air)->sent);
    free((*air)->samples);
    free(*air);
    *air = NULL;
}

typedef struct listener {
    const modem_air *air;
    modem_reading_fn reading;
    void *context;
} listener;

static void hear(void *context, const wh_reading *reading)
{
    const listener *l = context;
    const modem_sent *during = NULL;
    for (size_t i = 0; i < l->air->sent_count && !during; i++) {
        const modem_sent *sent = &l->air->sent[i];
        if (reading->offset_s > sent->start_s - TIME_SLACK_S && reading->offset_s < sent->end_s + TIME_SLACK_S)
            during = sent;
    }
    l->reading(l->context, reading, during);
}

bool modem_air_receive(const modem_air *air, const wh_descriptor_set *set, modem_reading_fn reading, void *context)
{
    listener l = {air, reading, context};
    const wh_receiver_sink sink = {.context = &l, .reading = hear};
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.report_minimum = 0.0;
    wh_receiver *receiver = NULL;
    const wh_stream stream = {.format = WH_IQ_CU8, .sample_rate_hz = air->sample_rate_hz, .name = "air"};
    const bool ok = wh_receiver_create(&config, set, &sink, &receiver, NULL) == WH_OK &&
                    wh_receiver_begin(receiver, &stream, NULL) == WH_OK &&
                    wh_receiver_push(receiver, air->samples, air->sample_count) == WH_OK &&
                    wh_receiver_finish(receiver) == WH_OK;
    wh_receiver_destroy(&receiver);
    return ok;
}

bool modem_frame_right(const wh_reading *reading, const modem_sent *sent)
{
    return sent && strcmp(reading->descriptor, wh_descriptor_name(sent->descriptor)) == 0 &&
           reading->frame_bits == sent->frame.count &&
           memcmp(reading->frame, sent->frame.data, sizeof reading->frame) == 0;
}

static bool same_numbers(const wh_reading *a, const wh_reading *b)
{
    if (a->pressure_state != b->pressure_state || a->temperature_state != b->temperature_state)
        return false;
    if (a->pressure_state == WH_VALUE_OK && fabs(a->pressure.kpa - b->pressure.kpa) > 1e-9)
        return false;
    return a->temperature_state != WH_VALUE_OK || fabs(a->temperature_c - b->temperature_c) <= 1e-9;
}

bool modem_values_right(const wh_reading *reading, const modem_sent *sent)
{
    if (!sent || strcmp(reading->descriptor, wh_descriptor_name(sent->descriptor)) != 0)
        return false;
    wh_reading wanted = {0};
    wh_fields_decode(sent->descriptor, &sent->frame, (wh_absolute){WH_STANDARD_ATMOSPHERE_KPA}, &wanted);
    if (strcmp(wanted.sensor, reading->sensor) != 0 || !same_numbers(reading, &wanted) ||
        wanted.value_count != reading->value_count || wanted.flag_count != reading->flag_count)
        return false;
    for (unsigned i = 0; i < wanted.value_count; i++)
        if (wanted.values[i].state != reading->values[i].state ||
            (wanted.values[i].state == WH_VALUE_OK && fabs(wanted.values[i].value - reading->values[i].value) > 1e-9))
            return false;
    for (unsigned i = 0; i < wanted.flag_count; i++)
        if (wanted.flags[i].set != reading->flags[i].set)
            return false;
    return true;
}
