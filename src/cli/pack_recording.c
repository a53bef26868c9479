#include "pack_recording.h"

#include "recorder.h"
#include "synth_scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ    250e3
#define WIDE_HZ    1.024e6 /* for carriers further apart than that holds */
#define REST_S     0.35    /* before the first: the receiver learns the noise in a quarter of a second */
#define NOISE_DBFS (-40.0)
#define SNR_MOST   30.0 /* beyond, eight bits clip */
#define ACROSS_S   0.02 /* an outline begins about two slots before the first chip */

static const char synthetic[] =
    "synthetic: made anew by 'wheelhark descriptor pack' from readings, with other IDs and computed checks";

const char *wh_pack_sensor_name(const wh_descriptor *descriptor)
{
    for (unsigned i = 0; i < descriptor->field_count; i++)
        if (descriptor->fields[i].role == WH_ROLE_SENSOR)
            return descriptor->fields[i].name;
    return "";
}

wh_status wh_pack_frame(const wh_pack_job *job, size_t index, wh_frame_bits *frame, wh_reading *shown, wh_error *error)
{
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    const wh_reading *reading = &job->readings[index];
    *frame = (wh_frame_bits){.count = reading->frame_bits};
    memcpy(frame->data, reading->frame, sizeof frame->data);
    const wh_status status = job->disguise ? wh_disguise_frame(job->disguise, job->descriptor, frame, error) : WH_OK;
    *shown = (wh_reading){0};
    wh_fields_decode(job->descriptor, frame, site, shown);
    return status;
}

/* Only what must be right: the frame's bits say everything, sensor and values are for people. */
static void expect_line(const wh_pack_job *job, const wh_frame_bits *frame, const wh_reading *shown, double offset_s,
                        wh_text *expected)
{
    char number[WH_FIXED_SIZE];
    wh_text_print(expected, "{\"record\":\"reading\",\"descriptor\":\"%s\",\"sensor\":\"%s\",\"offset_s\":%s",
                  job->descriptor->name, shown->sensor, wh_fixed(number, offset_s, 3));
    if (shown->pressure_state == WH_VALUE_OK)
        wh_text_print(expected, ",\"gauge_kpa\":%s", wh_fixed(number, shown->pressure.kpa, 1));
    if (shown->temperature_state == WH_VALUE_OK)
        wh_text_print(expected, ",\"temp_c\":%s", wh_fixed(number, shown->temperature_c, 1));
    wh_text_add(expected, ",\"frame\":\"");
    for (unsigned i = 0; i < (frame->count + 7) / 8; i++)
        wh_text_print(expected, "%02X", frame->data[i]);
    wh_text_add(expected, "\"}\n");
}

/* The middle of the carriers that were heard, a little beside the signal, and a rate that holds them all. */
static void choose_band(const wh_pack_job *job, wh_recording_spec *spec)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < job->count; i++) {
        low = fmin(low, job->readings[i].carrier_hz);
        high = fmax(high, job->readings[i].carrier_hz);
    }
    const wh_radio *radio = &job->descriptor->radio;
    const double half = (high - low) / 2.0 + radio->deviation_hz + radio->chip_rate_hz + 30e3;
    spec->sample_rate_hz = half < 0.45 * RATE_HZ ? RATE_HZ : WIDE_HZ;
    /* Recordings that do not say their centre give offsets. */
    const double middle = (low + high) / 2.0 - 20e3;
    spec->centre_hz = middle > 1e6 ? middle : 0.0;
}

wh_status wh_pack_made_anew(const wh_pack_job *job, const char *base, wh_text *expected, wh_error *error)
{
    const double noise = pow(10.0, NOISE_DBFS / 10.0);
    wh_recording_spec spec = {
        .format = WH_IQ_CU8, .noise_power = noise, .seed = 1 + job->count, .description = synthetic};
    choose_band(job, &spec);
    wh_scene *scene = wh_scene_create(spec.seed);
    wh_status status = scene ? WH_OK : wh_fail(error, WH_ERR_MEMORY, "close other programs", "no memory for a scene");
    for (size_t i = 0; status == WH_OK && i < job->count; i++) {
        const wh_reading *reading = &job->readings[i];
        wh_reading shown;
        /* Longer than the longest pause between copies, or two activations with the same bits would become one. */
        const double rest_s = i == 0 ? REST_S : REST_S + 1.5 * job->descriptor->gap_max_s;
        wh_transmission t = {
            .descriptor = job->descriptor,
            .copies = reading->copies,
            .gap_s = -1.0,
            .start_s = wh_scene_end(scene) + rest_s,
            .amplitude = wh_snr_amplitude(fmin(reading->snr_db, SNR_MOST), job->descriptor->radio.chip_rate_hz, noise,
                                          spec.sample_rate_hz),
            .carrier_hz = reading->carrier_hz - spec.centre_hz,
            .edge_s = 0.1 / job->descriptor->radio.chip_rate_hz,
        };
        status = wh_pack_frame(job, i, &t.frame, &shown, error);
        if (status == WH_OK)
            status = wh_scene_add(scene, &t, error);
        if (status == WH_OK)
            expect_line(job, &t.frame, &shown, t.start_s, expected);
    }
    if (status == WH_OK) {
        size_t count;
        spec.samples = (uint64_t)((wh_scene_end(scene) + REST_S) * spec.sample_rate_hz);
        const wh_recording_burst *bursts = wh_scene_bursts(scene, &count);
        status = wh_recording_write(&spec, bursts, count, base, NULL, error);
    }
    wh_scene_destroy(&scene);
    return status;
}

/* How long the copies of a reading take at most. */
static double span_s(const wh_pack_job *job, const wh_reading *reading)
{
    const wh_descriptor *d = job->descriptor;
    const unsigned chips =
        (unsigned)d->frame.preamble_repeats * d->frame.preamble.count + d->frame.sync.count + reading->frame_bits;
    const double frame_s = 3.0 * chips / (d->radio.chip_rate_hz * (1.0 - d->radio.rate_tolerance));
    return reading->copies * frame_s + (reading->copies - 1) * 1.5 * d->gap_max_s;
}

static wh_status cut_samples(wh_source *source, wh_recorder *recorder, const wh_pack_job *job, wh_error *error)
{
    wh_source_event event;
    wh_status status;
    bool marked = false;
    while ((status = wh_source_next(source, &event, error)) == WH_OK && event.kind != WH_SOURCE_END) {
        if (event.kind == WH_SOURCE_STREAM)
            status = wh_recorder_begin(recorder, &event.stream, error);
        for (size_t i = 0; status == WH_OK && event.kind == WH_SOURCE_STREAM && !marked && i < job->count; i++) {
            const wh_reading *reading = &job->readings[i];
            const double rate = event.stream.sample_rate_hz, from_s = fmax(reading->offset_s - ACROSS_S, 0.0);
            const double centre = reading->carrier_hz,
                         half = job->descriptor->radio.deviation_hz + job->descriptor->radio.chip_rate_hz;
            const wh_recorder_burst burst = {.start = (uint64_t)(from_s * rate),
                                             .end = (uint64_t)((reading->offset_s + span_s(job, reading)) * rate),
                                             .low_hz = centre - half,
                                             .high_hz = centre + half,
                                             .snr_db = reading->snr_db};
            wh_recorder_burst_heard(recorder, &burst);
        }
        marked = marked || event.kind == WH_SOURCE_STREAM;
        if (status == WH_OK && event.kind == WH_SOURCE_SAMPLES)
            status = wh_recorder_push(recorder, event.samples, event.count, error);
        if (status != WH_OK)
            return status;
    }
    return status;
}

wh_status wh_pack_cut(const wh_pack_job *job, const wh_source_options *options, const char *base, wh_text *expected,
                      wh_error *error)
{
    const wh_recorder_options kept = {.base = base,
                                      .before_s = WH_RECORDER_BEFORE_S,
                                      .after_s = WH_RECORDER_AFTER_S,
                                      .generator = "wheelhark descriptor pack"};
    wh_source *source = NULL;
    wh_recorder *recorder = NULL;
    wh_status status = wh_source_open(options, &source, error);
    if (status == WH_OK)
        status = wh_recorder_create(&kept, &recorder, error);
    if (status == WH_OK)
        status = cut_samples(source, recorder, job, error);
    if (recorder && status == WH_OK)
        status = wh_recorder_finish(recorder, error);
    wh_recorder_destroy(&recorder);
    wh_source_destroy(&source);
    /* Times count from the first sample that was kept. */
    const double first_s = job->count ? fmax(job->readings[0].offset_s - ACROSS_S - WH_RECORDER_BEFORE_S, 0.0) : 0.0;
    for (size_t i = 0; status == WH_OK && i < job->count; i++) {
        wh_frame_bits frame;
        wh_reading shown;
        status = wh_pack_frame(job, i, &frame, &shown, error);
        expect_line(job, &frame, &shown, job->readings[i].offset_s - first_s, expected);
    }
    return status;
}
