/* wheelhark descriptor conflicts: is a descriptor safe beside the others in use? */
#include "descriptor_actions.h"
#include "descriptor_model.h"
#include "frame_fields.h"
#include "poisson_limit.h"
#include "quiet_feed.h"
#include "reading_changes.h"
#include "rival_trial.h"
#include "text_buffer.h"

#include <stdio.h>
#include <string.h>

#define CROSS_TRANSMISSIONS 64
#define WILD_TRANSMISSIONS  300
#define TRIAL_SNR_DB        20.0 /* near the sensor: nothing fails for want of signal */
#define TRIAL_SEED          20260302u
#define CONFIDENCE          0.95

typedef struct conflict_run {
    const wh_args *args;
    const wh_descriptor_options *options;
    wh_descriptor_set *alone, *all;
    const wh_descriptor *fresh;
    size_t conflicts, other_band;
    wh_error error;
} conflict_run;

/* A set of its own for one descriptor, or for two. Files that were good a moment ago are not complained about again. */
static wh_descriptor_set *set_of(const wh_descriptor *one, const wh_descriptor *two)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    if (set && wh_descriptor_set_load_file(set, wh_descriptor_path(one), NULL, NULL) == WH_OK &&
        (!two || wh_descriptor_set_load_file(set, wh_descriptor_path(two), NULL, NULL) == WH_OK))
        return set;
    wh_descriptor_set_destroy(&set);
    return NULL;
}

static wh_status cross(conflict_run *run, const wh_descriptor *sender, const wh_descriptor *one,
                       const wh_descriptor *two, double near_hz, wh_trial_result *result)
{
    wh_descriptor_set *hearers = set_of(one, two);
    if (!hearers)
        return wh_fail(&run->error, WH_ERR_DATA, "do not change descriptors meanwhile", "%s: cannot be read again",
                       wh_descriptor_path(one));
    const wh_trial trial = {.sender = sender,
                            .hearers = hearers,
                            .air = WH_AIR_FRAMES,
                            .transmissions = CROSS_TRANSMISSIONS,
                            .snr_db = TRIAL_SNR_DB,
                            .near_hz = near_hz,
                            .seed = TRIAL_SEED};
    const wh_status status = wh_trial_run(&trial, wh_stop_asked, result, &run->error);
    wh_descriptor_set_destroy(&hearers);
    return status;
}

/* Bits of a reading that noise would have to hit. */
static void print_evidence(const wh_descriptor *descriptor)
{
    printf("    %s: %u bits of checks and constants, %u of sync\n", descriptor->name, wh_evidence_bits(descriptor),
           descriptor->frame.sync.count);
}

/* Frames of `sender` that `hearer` alone reads: who gets them when both listen? Readings are told in the order of a set's names. */
static wh_status tell_pair(conflict_run *run, const wh_descriptor *sender, const wh_descriptor *hearer, double near_hz)
{
    wh_trial_result lone, both;
    wh_status status = cross(run, sender, hearer, NULL, near_hz, &lone);
    if (status != WH_OK || lone.read[0] == 0)
        return status;
    run->conflicts++;
    if ((status = cross(run, sender, sender, hearer, near_hz, &both)) != WH_OK)
        return status;
    const size_t own = strcmp(sender->name, hearer->name) < 0 ? 0 : 1;
    char own_text[WH_FIXED_SIZE], other_text[WH_FIXED_SIZE];
    printf("  %s reads %zu of %zu frames of %s\n    when both listen: %s gets %zu (confidence %s), %s gets %zu (%s); "
           "the more confident one wins\n",
           hearer->name, lone.read[0], lone.sent, sender->name, sender->name, both.read[own],
           wh_fixed_down(own_text, both.confidence[own], 3), hearer->name, both.read[1 - own],
           wh_fixed_down(other_text, both.confidence[1 - own], 3));
    print_evidence(sender);
    print_evidence(hearer);
    return WH_OK;
}

static int against_others(conflict_run *run)
{
    const size_t count = wh_descriptor_set_count(run->all);
    size_t compared = 0;
    printf("frames that another descriptor would accept (%d of each, seeded)\n", CROSS_TRANSMISSIONS);
    for (size_t i = 0; i < count && !wh_stop_asked(); i++) {
        const wh_descriptor *other = wh_descriptor_set_at(run->all, i);
        double near_hz = 0.0, back_hz = 0.0;
        if (strcmp(other->name, run->fresh->name) == 0)
            continue;
        if (!wh_trial_same_band(run->fresh, other, &near_hz) || !wh_trial_same_band(other, run->fresh, &back_hz)) {
            run->other_band++;
            continue;
        }
        compared++;
        if (tell_pair(run, run->fresh, other, near_hz) != WH_OK || tell_pair(run, other, run->fresh, back_hz) != WH_OK)
            return wh_exit_for(&run->error);
        fflush(stdout);
    }
    char limit[WH_FIXED_SIZE];
    if (!wh_stop_asked())
        printf("  compared with %zu descriptors, %zu more are on other carriers; none seen in %d means fewer than %s "
               "%% (95 "
               "%%)\n",
               compared, run->other_band, CROSS_TRANSMISSIONS,
               wh_fixed(limit, 100.0 * wh_poisson_limit(0, CONFIDENCE) / CROSS_TRANSMISSIONS, 1));
    return 0;
}

static int wild(conflict_run *run, wh_trial_air air, const char *what)
{
    const bool noise = air == WH_AIR_NOISE_ONLY;
    const wh_trial trial = {.sender = run->fresh,
                            .hearers = run->alone,
                            .air = air,
                            .transmissions = noise ? 0 : WILD_TRANSMISSIONS,
                            .seconds = run->options->noise_s,
                            .snr_db = TRIAL_SNR_DB,
                            .seed = TRIAL_SEED + 1};
    wh_trial_result result;
    char limit[WH_FIXED_SIZE], amount[WH_FIXED_SIZE];
    if (wh_stop_asked())
        return 0;
    if (wh_trial_run(&trial, wh_stop_asked, &result, &run->error) != WH_OK)
        return wh_exit_for(&run->error);
    const double most = wh_poisson_limit(result.read[0], CONFIDENCE);
    if (noise)
        printf("  %s: %zu readings in %s min: fewer than %s an hour (95 %%)\n", what, result.read[0],
               wh_plain(amount, result.seconds / 60.0, 1), wh_fixed(limit, most * 3600.0 / result.seconds, 1));
    else
        printf("  %s: %zu readings of %zu: fewer than %s %% (95 %%)\n", what, result.read[0], result.sent,
               wh_fixed(limit, 100.0 * most / (double)result.sent, 2));
    fflush(stdout);
    /* A payload at random fits an n-bit check once in 2^n: that is no fault of the descriptor, but says what it can vouch for. */
    run->conflicts += air != WH_AIR_FORGED && result.read[0] > 0;
    return 0;
}

static int against_noise(conflict_run *run)
{
    static const struct {
        wh_trial_air air;
        const char *what;
    } airs[] = {
        {WH_AIR_NOISE_ONLY, "white noise"},
        {WH_AIR_KEYED, "bursts of its rate and length, chips at random"},
        {WH_AIR_FORGED, "its preamble and sync, payload at random"},
    };
    puts("false readings (seeded)");
    for (size_t i = 0; i < sizeof airs / sizeof airs[0]; i++) {
        const int status = wild(run, airs[i].air, airs[i].what);
        if (status != 0)
            return status;
    }
    return 0;
}

/* All but the new one. */
static wh_descriptor_set *set_without(const conflict_run *run)
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    for (size_t i = 0; set && i < wh_descriptor_set_count(run->all); i++) {
        const wh_descriptor *other = wh_descriptor_set_at(run->all, i);
        if (strcmp(other->name, run->fresh->name) != 0 &&
            wh_descriptor_set_load_file(set, wh_descriptor_path(other), NULL, NULL) != WH_OK)
            wh_descriptor_set_destroy(&set);
    }
    return set;
}

static int hear(const conflict_run *run, const char *target, const wh_descriptor_set *set, wh_reading_list *list)
{
    wh_receiver_config config;
    wh_receiver_config_defaults(&config);
    const wh_receiver_sink sink = {.context = list, .reading = wh_reading_list_take};
    wh_receiver *receiver;
    wh_error error;
    if (wh_receiver_create(&config, set, &sink, &receiver, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_source_options source = run->options->source;
    source.target = target;
    const int status = wh_feed_quietly(&source, receiver);
    wh_receiver_destroy(&receiver);
    return list->failed ? WH_EXIT_SOFTWARE : status;
}

/* What the recording gives without the new descriptor must still be there with it. */
static int compare_recording(conflict_run *run, const wh_descriptor_set *others, const char *target)
{
    wh_reading_list before = {0}, after = {0};
    wh_text text = {0};
    int worst = hear(run, target, others, &before);
    const int status = hear(run, target, run->all, &after);
    worst = status > worst ? status : worst;
    run->conflicts += wh_reading_changes_text(&before, &after, run->fresh->name, &text);
    printf("readings of %s\n%s", target, text.data ? text.data : "");
    wh_text_free(&text);
    wh_reading_list_free(&before);
    wh_reading_list_free(&after);
    return worst;
}

static int against_recordings(conflict_run *run)
{
    int worst = 0;
    if (wh_args_operand_count(run->args) < 3)
        return 0;
    wh_descriptor_set *others = set_without(run);
    if (!others)
        return WH_EXIT_DATA;
    for (int i = 2; i < wh_args_operand_count(run->args) && !wh_stop_asked(); i++) {
        const int status = compare_recording(run, others, wh_args_operand(run->args, i));
        worst = status > worst ? status : worst;
    }
    wh_descriptor_set_destroy(&others);
    return worst;
}

/* The new file comes first in the search path, then --descriptors, then what is always there. */
static int load_all(conflict_run *run, const char *path)
{
    wh_descriptor_set *known = NULL;
    if (wh_cli_load_descriptors(run->options->place, &known, &run->error) != WH_OK)
        return wh_exit_for(&run->error);
    int status = wh_descriptor_load_one(path, &run->all);
    for (size_t i = 0; status == 0 && i < wh_descriptor_set_count(known); i++) {
        const wh_descriptor *other = wh_descriptor_set_at(known, i);
        if (strcmp(other->name, run->fresh->name) != 0)
            status = wh_exit_of(wh_descriptor_set_load_file(run->all, wh_descriptor_path(other), NULL, NULL));
    }
    wh_descriptor_set_destroy(&known);
    return status;
}

int wh_descriptor_conflicts(const wh_args *args, const wh_descriptor_options *options)
{
    if (wh_args_operand_count(args) < 2)
        return wh_args_complain(args, "'conflicts' needs a descriptor file");
    conflict_run run = {.args = args, .options = options};
    const char *path = wh_args_operand(args, 1);
    int worst = wh_descriptor_load_one(path, &run.alone);
    if (worst != 0)
        return worst;
    run.fresh = wh_descriptor_set_at(run.alone, 0);
    wh_stop_install();
    worst = load_all(&run, path);
    int (*const steps[])(conflict_run *) = {against_others, against_noise, against_recordings};
    for (size_t i = 0; worst == 0 && i < sizeof steps / sizeof steps[0]; i++)
        worst = steps[i](&run);
    wh_descriptor_set_destroy(&run.all);
    wh_descriptor_set_destroy(&run.alone);
    if (wh_stop_asked())
        return WH_EXIT_INTERRUPTED;
    if (worst != 0)
        return worst;
    printf("%s: %zu conflict%s\n", path, run.conflicts, run.conflicts == 1 ? "" : "s");
    return run.conflicts ? WH_EXIT_FINDINGS : WH_EXIT_DONE;
}
