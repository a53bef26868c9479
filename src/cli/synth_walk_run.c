/* wheelhark synth --walk: a technician's walk round the roster's units as a recording. */
#include "csv_print.h"
#include "synth_walk.h"
#include "synth_write.h"
#include "whole_file.h"
#include "yard_store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static wh_status load_roster(const wh_synth_options *options, wh_roster **roster, wh_error *error)
{
    wh_store *store;
    wh_status status = wh_cli_store_open(options->store, WH_STORE_READ, &store, error);
    if (status == WH_OK)
        status = wh_store_roster_load(store, roster, error);
    wh_store_close(&store);
    return status;
}

static wh_status load_roles(const char *file, wh_walk_role **roles, size_t *count, wh_error *error)
{
    char *text;
    size_t length;
    wh_status status = wh_file_read(file, WH_CSV_BYTES_MAX, &text, &length, error);
    if (status != WH_OK)
        return status;
    wh_csv_complaints complaints = {0};
    status = wh_walk_roles_parse(text, length, roles, count, &complaints);
    wh_csv_complaints_print(file, &complaints);
    if (status != WH_OK)
        wh_fail(error, status, "correct the places named above", "%s: is no scenario", file);
    wh_csv_complaints_free(&complaints);
    free(text);
    return status;
}

/* NAME and an ending; to be freed. */
static char *path_of(const char *name, const char *ending)
{
    const size_t size = strlen(name) + strlen(ending) + 1;
    char *path = malloc(size);
    if (path)
        snprintf(path, size, "%s%s", name, ending);
    return path;
}

static wh_status write_text(const wh_synth_options *options, const char *ending, wh_text *text, wh_error *error)
{
    char *path = path_of(options->out, ending);
    const wh_status status = path && text->data && !text->failed
                                 ? wh_file_replace(path, text->data, text->length, error)
                                 : wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    free(path);
    wh_text_free(text);
    return status;
}

static void put_truth(wh_text *text, const wh_walk_role *roles, const wh_synth_walk_result *result)
{
    static const char *const names[] = {"offset_s", "sensor", "unit", "position", "descriptor", "level_dbfs"};
    wh_csv_writer writer = {.out = text};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        wh_csv_put(&writer, names[i]);
    wh_csv_end_row(&writer);
    for (size_t i = 0; i < result->truth_count; i++) {
        const wh_walk_truth *sent = &result->truth[i];
        const wh_walk_role *role = &roles[sent->role];
        char number[WH_FIXED_SIZE], position[WH_POSITION_SIZE];
        wh_csv_put_number(&writer, wh_fixed(number, sent->offset_s, 4));
        wh_csv_put(&writer, role->sensor);
        wh_csv_put(&writer, role->unit);
        wh_csv_put(&writer, role->position.axle ? wh_position_text(position, role->position) : "");
        wh_csv_put(&writer, role->descriptor);
        wh_csv_put_number(&writer, wh_fixed(number, sent->level_dbfs, 1));
        wh_csv_end_row(&writer);
    }
}

/* An eighth of the band keeps the signals off the zero frequency. */
static wh_status choose_centre(wh_synth_options *options, const wh_descriptor_set *set, const wh_walk_role *roles,
                               size_t count, wh_error *error)
{
    if (options->recording.centre_hz != 0.0)
        return WH_OK;
    const wh_descriptor *descriptor = count ? wh_descriptor_set_find(set, roles[0].descriptor) : NULL;
    if (!descriptor)
        return wh_fail(error, WH_ERR_DATA, "name a sensor and its descriptor in the first row",
                       "the scenario is empty, or its first descriptor is not known");
    options->recording.centre_hz = descriptor->carriers_hz[0] - options->recording.sample_rate_hz / 8.0;
    return WH_OK;
}

static wh_status make(wh_synth_options *options, const wh_roster *roster, const wh_descriptor_set *set,
                      const wh_walk_role *roles, size_t count, wh_scene *scene, wh_error *error)
{
    wh_synth_walk_spec spec = {.roster = roster,
                               .descriptors = set,
                               .roles = roles,
                               .role_count = count,
                               .sample_rate_hz = options->recording.sample_rate_hz,
                               .seed = options->recording.seed};
    wh_walk_settings_usual(&spec.air);
    wh_status status = choose_centre(options, set, roles, count, error);
    if (status != WH_OK)
        return status;
    spec.centre_hz = options->recording.centre_hz;
    spec.air.carrier_hz = options->recording.centre_hz;
    wh_synth_walk_result result;
    wh_text steps = {0}, truth = {0};
    status = wh_synth_walk(&spec, scene, &result, error);
    if (status == WH_OK) {
        wh_walk_steps_text(&steps, result.steps, result.step_count);
        put_truth(&truth, roles, &result);
        status = wh_synth_write(scene, options, result.duration_s, error);
    }
    wh_synth_walk_free(&result);
    if (status == WH_OK)
        status = write_text(options, ".steps.csv", &steps, error);
    if (status == WH_OK)
        status = write_text(options, ".truth.csv", &truth, error);
    wh_text_free(&steps);
    wh_text_free(&truth);
    return status;
}

int wh_synth_walk_run(wh_synth_options *options)
{
    wh_error error = {0};
    wh_roster *roster = NULL;
    wh_descriptor_set *set = NULL;
    wh_walk_role *roles = NULL;
    wh_scene *scene = NULL;
    size_t count = 0;
    wh_status status = load_roster(options, &roster, &error);
    if (status == WH_OK)
        status = wh_cli_load_descriptors(options->descriptors, &set, &error);
    if (status == WH_OK)
        status = load_roles(options->walk, &roles, &count, &error);
    if (status == WH_OK && !(scene = wh_scene_create(options->recording.seed)))
        status = wh_fail(&error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK)
        status = make(options, roster, set, roles, count, scene, &error);
    wh_scene_destroy(&scene);
    free(roles);
    wh_descriptor_set_destroy(&set);
    wh_roster_destroy(&roster);
    return status == WH_OK ? WH_EXIT_DONE : wh_exit_for(&error);
}
