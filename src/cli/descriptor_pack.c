/* wheelhark descriptor pack: a descriptor with recordings that prove it, fit to be handed on. */
#include "descriptor_actions.h"
#include "descriptor_model.h"
#include "expect.h"
#include "id_disguise.h"
#include "pack_recording.h"
#include "quiet_feed.h"
#include "reading_changes.h"
#include "whole_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define EXAMPLES_MAX     16
#define LEAST_CONFIDENCE 0.9
#define DESCRIPTOR_MAX   65536u /* bytes: the limit of descriptor files */

typedef struct pack {
    const wh_args *args;
    const wh_descriptor_options *options;
    wh_descriptor_set *set;
    const wh_descriptor *descriptor;
    wh_id_disguise disguise;
    wh_text examples;
    size_t example_count, readings;
    unsigned recordings;
    wh_error error;
} pack;

static int hear(const pack *p, const char *target, wh_reading_list *list)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    config.report_minimum = LEAST_CONFIDENCE;
    const wh_receiver_sink sink = {.context = list, .reading = wh_reading_list_take};
    wh_receiver *receiver;
    wh_error error;
    if (wh_receiver_create(&config, p->set, &sink, &receiver, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_source_options source = p->options->source;
    source.target = target;
    const int status = wh_feed_quietly(&source, receiver);
    wh_receiver_destroy(&receiver);
    return list->failed ? WH_EXIT_SOFTWARE : status;
}

static void print_difference(void *context, const char *text)
{
    (void)context;
    fprintf(stderr, "  %s\n", text);
}

/* What was packed must prove what it claims before anybody relies on it. */
static int prove(const pack *p, const char *base, const wh_text *expected)
{
    char target[4200];
    wh_expect *expect;
    wh_error error;
    wh_reading_list heard = {0};
    snprintf(target, sizeof target, "%s.sigmf-meta", base);
    if (wh_expect_parse(base, expected->data, expected->length, &expect, &error) != WH_OK)
        return wh_exit_for(&error);
    int status = hear(p, target, &heard);
    for (size_t i = 0; i < heard.count; i++)
        wh_expect_reading(expect, &heard.items[i]);
    if (status == 0 && wh_expect_compare(expect, print_difference, NULL) > 0) {
        wh_fail(&error, WH_ERR_DATA, "pack recordings with stronger bursts",
                "%s: the packed recording does not give the readings it should", base);
        status = wh_exit_for(&error);
    }
    wh_expect_destroy(&expect);
    wh_reading_list_free(&heard);
    return status;
}

static wh_status write_expected(const char *base, const wh_text *expected, wh_error *error)
{
    char path[4200];
    snprintf(path, sizeof path, "%s.expect.jsonl", base);
    return wh_file_replace(path, expected->data, expected->length, error);
}

static void add_example(pack *p, const wh_frame_bits *frame, const char *sensor)
{
    if (p->example_count == EXAMPLES_MAX || p->descriptor->partial)
        return;
    wh_text_add(&p->examples, p->example_count++ == 0 ? "examples:\n  - frame: {hex: " : "  - frame: {hex: ");
    for (unsigned i = 0; i < (frame->count + 7) / 8; i++)
        wh_text_print(&p->examples, "%02X", frame->data[i]);
    wh_text_print(&p->examples, ", bits: %u}\n    expect: {%s: \"%s\"}\n", frame->count,
                  wh_pack_sensor_name(p->descriptor), sensor);
}

static int pack_one(pack *p, const char *target)
{
    wh_reading_list list = {0};
    int status = hear(p, target, &list);
    wh_text expected = {0};
    char base[4096];
    const wh_pack_job job = {.descriptor = p->descriptor,
                             .disguise = p->options->keep_ids ? NULL : &p->disguise,
                             .readings = list.items,
                             .count = list.count};
    if (status == 0 && list.count == 0) {
        wh_fail(&p->error, WH_ERR_DATA, "'wheelhark descriptor try' tells where its bursts are lost",
                "%s: nothing that the descriptor reads", target);
        status = wh_exit_for(&p->error);
    }
    if (status == 0) {
        snprintf(base, sizeof base, "%s/%s-%u", p->options->out, p->descriptor->name, ++p->recordings);
        wh_source_options source = p->options->source;
        source.target = target;
        wh_status made = p->options->keep_ids ? wh_pack_cut(&job, &source, base, &expected, &p->error)
                                              : wh_pack_made_anew(&job, base, &expected, &p->error);
        if (made == WH_OK)
            made = write_expected(base, &expected, &p->error);
        status = made == WH_OK ? prove(p, base, &expected) : wh_exit_for(&p->error);
    }
    for (size_t i = 0; status == 0 && i < list.count && !p->options->keep_ids; i++) {
        wh_frame_bits frame;
        wh_reading shown;
        if (wh_pack_frame(&job, i, &frame, &shown, &p->error) == WH_OK)
            add_example(p, &frame, shown.sensor);
    }
    p->readings += list.count;
    wh_text_free(&expected);
    wh_reading_list_free(&list);
    return status;
}

/* With the real IDs the descriptor goes as it is. */
static int pack_descriptor(pack *p)
{
    char path[4200], *text;
    size_t length;
    wh_text out = {0};
    snprintf(path, sizeof path, "%s/%s.yaml", p->options->out, p->descriptor->name);
    if (wh_file_read(wh_descriptor_path(p->descriptor), DESCRIPTOR_MAX, &text, &length, &p->error) != WH_OK)
        return wh_exit_for(&p->error);
    if (p->options->keep_ids)
        wh_text_add(&out, text);
    else
        wh_descriptor_stripped(text, p->examples.data ? p->examples.data : "", &out);
    free(text);
    wh_descriptor_set *check = NULL;
    int status = 0;
    if (out.failed || p->examples.failed)
        status = WH_EXIT_SOFTWARE;
    else if (wh_file_replace(path, out.data, out.length, &p->error) != WH_OK)
        status = wh_exit_for(&p->error);
    else
        status = wh_descriptor_load_one(path, &check);
    wh_descriptor_set_destroy(&check);
    wh_text_free(&out);
    return status;
}

static int pack_all(pack *p)
{
    int status = 0;
    if (mkdir(p->options->out, 0777) != 0) {
        wh_fail(&p->error, WH_ERR_IO, "choose a folder that is not there yet", "%s: cannot be made: %s",
                p->options->out, strerror(errno));
        wh_exit_for(&p->error);
        return WH_EXIT_CANT_CREATE;
    }
    for (int i = 2; status == 0 && i < wh_args_operand_count(p->args) && !wh_stop_asked(); i++)
        status = pack_one(p, wh_args_operand(p->args, i));
    if (status == 0 && !wh_stop_asked())
        status = pack_descriptor(p);
    if (status != 0 || wh_stop_asked())
        return status ? status : WH_EXIT_INTERRUPTED;
    printf("%s: %s.yaml, %u recording%s, %zu reading%s, %zu ID%s replaced\n", p->options->out, p->descriptor->name,
           p->recordings, p->recordings == 1 ? "" : "s", p->readings, p->readings == 1 ? "" : "s", p->disguise.count,
           p->disguise.count == 1 ? "" : "s");
    fputs(p->options->keep_ids
              ? "wheelhark: real IDs and times are in it: hand it on only if they are yours to give\n"
              : "wheelhark: look through the descriptor's summary and provenance: they are kept as they are\n",
          stderr);
    return WH_EXIT_DONE;
}

int wh_descriptor_pack(const wh_args *args, const wh_descriptor_options *options)
{
    pack p = {.args = args, .options = options};
    if (wh_args_operand_count(args) < 3 || !options->out)
        return wh_args_complain(args, "'pack' needs a descriptor file, recordings, and --out FOLDER");
    int status = wh_descriptor_load_one(wh_args_operand(args, 1), &p.set);
    if (status != 0)
        return status;
    p.descriptor = wh_descriptor_set_at(p.set, 0);
    wh_stop_install();
    if (!options->keep_ids && !wh_disguise_possible(p.descriptor)) {
        wh_fail(&p.error, WH_ERR_UNSUPPORTED, "complete it first, or pack with --keep-ids",
                "%s is partial: without the ID's place nothing can be put in its stead", p.descriptor->name);
        status = wh_exit_for(&p.error);
    } else {
        status = pack_all(&p);
    }
    wh_disguise_free(&p.disguise);
    wh_text_free(&p.examples);
    wh_descriptor_set_destroy(&p.set);
    return status;
}
