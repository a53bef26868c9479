/* wheelhark synth: make a recording of sensors from their descriptors. */
#include "command.h"
#include "synth_write.h"
#include "wheelhark/descriptor.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define REST_S 0.05 /* before the first sensor, between sensors, and after the last */

/* The band of a transmission must lie within what the receiver samples. */
static wh_status check_band(const wh_synth_options *options, const wh_transmission *t, wh_error *error)
{
    const wh_radio *radio = &t->descriptor->radio;
    const double half = radio->deviation_hz * (1.0 + t->deviation_error) + radio->chip_rate_hz;
    const double reach = fmax(fabs(t->carrier_hz), fabs(t->carrier_hz + t->drift_hz)) + half;
    if (reach <= options->recording.sample_rate_hz / 2.0)
        return WH_OK;
    return wh_fail(error, WH_ERR_LIMIT, "choose a higher --sample-rate or another --centre",
                   "%s lies up to %.0f kHz from the centre, outside of the recorded band of +-%.0f kHz",
                   t->descriptor->name, reach / 1e3, options->recording.sample_rate_hz / 2e3);
}

static wh_status add_sensor(wh_scene *scene, const wh_synth_options *options, const wh_synth_sensor *sensor,
                            const wh_descriptor *descriptor, wh_error *error)
{
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    const wh_recording_spec *spec = &options->recording;
    const double noise = pow(10.0, options->noise_dbfs / 10.0);
    const double carrier = isnan(sensor->carrier_hz) ? descriptor->carriers_hz[0] : sensor->carrier_hz;
    wh_transmission t = {
        .descriptor = descriptor,
        .copies = sensor->copies,
        .gap_s = isnan(sensor->gap_s) ? -1.0 : sensor->gap_s,
        .start_s = isnan(sensor->at_s) ? wh_scene_end(scene) + REST_S : sensor->at_s,
        .amplitude = wh_snr_amplitude(sensor->snr_db, descriptor->radio.chip_rate_hz, noise, spec->sample_rate_hz),
        .carrier_hz = carrier + sensor->offset_hz - spec->centre_hz,
        .drift_hz = sensor->drift_hz,
        .rate_error = sensor->rate_error,
        .deviation_error = sensor->deviation_error,
        .edge_s = isnan(sensor->edge_s) ? 0.1 / (descriptor->radio.chip_rate_hz * (1.0 + sensor->rate_error))
                                        : sensor->edge_s,
    };
    wh_status status =
        wh_synth_frame(descriptor, sensor->values, sensor->value_count, sensor->bits, site, &t.frame, error);
    if (status == WH_OK)
        status = check_band(options, &t, error);
    return status == WH_OK ? wh_scene_add(scene, &t, error) : status;
}

static wh_status add_sensors(wh_scene *scene, wh_synth_options *options, const wh_descriptor_set *set, wh_error *error)
{
    for (size_t i = 0; i < options->sensor_count; i++) {
        const wh_synth_sensor *sensor = &options->sensors[i];
        const wh_descriptor *descriptor = wh_descriptor_set_find(set, sensor->descriptor);
        if (!descriptor)
            return wh_fail(error, WH_ERR_NOT_FOUND, "\"wheelhark descriptor list\" shows all names",
                           "there is no descriptor '%s'", sensor->descriptor);
        if (options->recording.centre_hz == 0.0) /* an eighth of the band keeps the signal off the zero frequency */
            options->recording.centre_hz =
                (isnan(sensor->carrier_hz) ? descriptor->carriers_hz[0] : sensor->carrier_hz) -
                options->recording.sample_rate_hz / 8.0;
        const wh_status status = add_sensor(scene, options, sensor, descriptor, error);
        if (status != WH_OK)
            return status;
    }
    return WH_OK;
}

wh_status wh_synth_write(const wh_scene *scene, const wh_synth_options *options, double duration_s, wh_error *error)
{
    wh_recording_spec spec = options->recording;
    const double duration = isnan(options->duration_s) ? duration_s : options->duration_s;
    spec.samples = (uint64_t)llround(duration * spec.sample_rate_hz);
    spec.noise_power = options->no_noise ? 0.0 : pow(10.0, options->noise_dbfs / 10.0);
    spec.dc_i = spec.dc_q = options->dc;
    if (!isnan(options->steady_hz)) {
        spec.carrier_hz = options->steady_hz;
        spec.carrier_amplitude = pow(10.0, options->steady_dbfs / 20.0);
    }
    size_t count;
    const wh_recording_burst *bursts = wh_scene_bursts(scene, &count);
    uint64_t clipped = 0;
    const wh_status status = wh_recording_write(&spec, bursts, count, options->out, &clipped, error);
    if (status != WH_OK)
        return status;
    fprintf(stderr, "%s.sigmf-data: %zu bursts, %.3f s at %.0f S/s, %s, centre %.6f MHz\n", options->out, count,
            duration, spec.sample_rate_hz, wh_iq_format_name(spec.format), spec.centre_hz / 1e6);
    if (clipped > 0)
        fprintf(stderr, "wheelhark: %llu samples are beyond full scale\n  lower --noise or --snr\n",
                (unsigned long long)clipped);
    return WH_OK;
}

static int synthesise(wh_synth_options *options)
{
    wh_error error = {0};
    wh_descriptor_set *set = NULL;
    wh_status status = wh_cli_load_descriptors(options->descriptors, &set, &error);
    wh_scene *scene = status == WH_OK ? wh_scene_create(options->recording.seed) : NULL;
    if (status == WH_OK && !scene)
        status = wh_fail(&error, WH_ERR_MEMORY, NULL, "no memory for a scene");
    if (status == WH_OK)
        status = add_sensors(scene, options, set, &error);
    if (status == WH_OK)
        status = wh_synth_write(scene, options, wh_scene_end(scene) + REST_S, &error);
    wh_scene_destroy(&scene);
    wh_descriptor_set_destroy(&set);
    return status == WH_OK ? WH_EXIT_DONE : wh_exit_for(&error);
}

static void free_options(wh_synth_options *options)
{
    for (size_t i = 0; options->sensors && i < options->sensor_count; i++)
        for (size_t k = 0; k < options->sensors[i].value_count; k++)
            free((char *)(uintptr_t)options->sensors[i].values[k].field);
    free(options->sensors);
}

static int run_synth(wh_args *args)
{
    wh_synth_options options;
    int status = wh_synth_options_read(args, &options);
    if (status == 0 && options.out)
        status = options.walk ? wh_synth_walk_run(&options) : synthesise(&options);
    free_options(&options);
    return status;
}

const wh_command wh_cmd_synth = {
    .name = "synth",
    .operands = "DESCRIPTOR",
    .summary = "make a recording of sensors from their descriptors",
    .notes =
        "Example, two sensors of different kinds:\n"
        "  wheelhark synth demo-fsk-manchester --set sensor=0A1B2C3D --set pressure=\"724 kPa\" --snr 15\n"
        "      --and demo-ook-manchester --set sensor=9C0FFEE --out yard\n"
        "Pressures are gauge at sea level unless they say absolute.\n\n"
        "A walk: SCENARIO is a CSV table, one sensor a row. Columns: sensor (its ID), unit (of the roster; another\n"
        "name is a neighbour's vehicle; passing), descriptor, position (3LO), pressure, temperature, fields\n"
        "(\"battery low=yes / status=3\"), answers (at waking 1, the default, or 2, or never), visits (2: he comes "
        "back\n"
        "to this wheel), every (seconds between\n"
        "transmissions of its own accord). Written are NAME's recording, NAME.steps.csv for 'wheelhark sweep\n"
        "--steps', and NAME.truth.csv, what was sent when.\n"
        "  wheelhark synth --walk scenario.csv --time 2026-03-02T07:15:00Z --out before",
    .options = wh_synth_option_table,
    .run = run_synth,
};
