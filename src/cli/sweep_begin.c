/* Which sweep it is: a new one, one to go on with, or the one before a repair. */
#include "sweep_begin.h"

#include "sweep_end.h"
#include "yard_store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* An unfinished sweep is offered for a day: later the tires are other ones. */
#define GO_ON_WITHIN_US (24LL * 3600 * 1000000)

/* Does the sweep go round all the units named, and round no others unless `more` says so? */
static bool goes_round(const wh_sweep *sweep, const wh_sweep_options *options, bool more)
{
    for (size_t i = 0; i < options->unit_count; i++)
        if (!wh_sweep_has_unit(sweep, options->units[i]))
            return false;
    return more || sweep->unit_count == options->unit_count;
}

/* The newest sweep round the units; of the unfinished ones, or of all. *out is NULL when there is none. */
static wh_status newest(wh_store *store, const wh_sweep_options *options, bool open_only, wh_sweep **out,
                        wh_error *error)
{
    const wh_sweep_filter filter = {.unit = options->units[0], .open_only = open_only};
    wh_sweep_head *heads;
    size_t count;
    *out = NULL;
    wh_status status = wh_store_sweep_list(store, &filter, &heads, &count, error);
    for (size_t i = 0; status == WH_OK && !*out && i < count; i++) {
        status = wh_store_sweep_load(store, heads[i].id, out, error);
        if (status == WH_OK && !goes_round(*out, options, !open_only))
            wh_sweep_free(out);
    }
    free(heads);
    return status;
}

static bool recent(const wh_sweep *sweep)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    const int64_t last = sweep->event_count ? sweep->events[sweep->event_count - 1].at_us : sweep->begun_us;
    return sweep->dated && (int64_t)now.tv_sec * 1000000 - last < GO_ON_WITHIN_US;
}

static size_t wheels_visited(const wh_sweep *sweep)
{
    size_t count = 0;
    for (size_t i = 0; i < sweep->event_count; i++) {
        bool before = sweep->events[i].kind != WH_EVENT_STAND;
        for (size_t k = 0; k < i && !before; k++)
            before = sweep->events[k].kind == WH_EVENT_STAND &&
                     strcmp(sweep->events[k].unit, sweep->events[i].unit) == 0 &&
                     wh_position_equal(sweep->events[k].position, sweep->events[i].position);
        count += !before;
    }
    return count;
}

/* One line from the terminal; true for Enter alone and for yes. */
static bool confirmed(const char *question)
{
    char answer[16] = "";
    fputs(question, stdout);
    fflush(stdout);
    if (!fgets(answer, sizeof answer, stdin))
        return false;
    return answer[0] == '\n' || answer[0] == 'y' || answer[0] == 'Y';
}

/* Shall the unfinished sweep be taken up? */
static bool take_up(const wh_sweep_options *options, const wh_sweep *sweep)
{
    if (options->go_on)
        return true;
    if (options->recording_count > 0 || !recent(sweep))
        return false;
    if (!isatty(STDIN_FILENO))
        return true; /* nobody to ask: losing nothing is the safer answer */
    char question[200];
    snprintf(question, sizeof question,
             "Go on with the unfinished sweep of %s, %zu wheels visited? Enter = yes, n = new one: ", options->units[0],
             wheels_visited(sweep));
    return confirmed(question);
}

static wh_status begin_new(const wh_sweep_options *options, wh_sweep **out, wh_error *error)
{
    *out = wh_sweep_create(options->units, options->unit_count);
    if (!*out)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (options->who)
        snprintf((*out)->who, sizeof(*out)->who, "%s", options->who);
    return WH_OK;
}

/* The sweep to walk: an old one or a new one. *mark: it begins with a repair mark. */
static wh_status choose(wh_store *store, const wh_sweep_options *options, wh_sweep **out, bool *mark, wh_error *error)
{
    *mark = false;
    wh_status status = WH_OK;
    if (options->verify) {
        status = newest(store, options, false, out, error);
        if (status == WH_OK && !*out)
            return wh_fail(error, WH_ERR_NOT_FOUND, "sweep it first, without --verify",
                           "%s '%s'%s not swept yet: there is nothing to compare with",
                           options->unit_count == 1 ? "unit" : "units like", options->units[0],
                           options->unit_count == 1 ? " was" : " were, together,");
        /* A verification that was broken off goes on; its mark stands. */
        *mark = status == WH_OK && (wh_sweep_ended(*out) || wh_sweep_repaired(*out, options->units[0]) == 0);
        return status;
    }
    if (!options->anew)
        status = newest(store, options, true, out, error);
    if (status == WH_OK && *out && take_up(options, *out))
        return WH_OK;
    if (options->go_on && status == WH_OK)
        return wh_fail(error, WH_ERR_NOT_FOUND, "leave --go-on out", "there is no unfinished sweep of these units");
    wh_sweep_free(out);
    return status == WH_OK ? begin_new(options, out, error) : status;
}

static void say_how_to_go_on(const wh_sweep_options *options)
{
    fprintf(stderr, "wheelhark: the sweep is not finished; 'wheelhark sweep%s", options->verify ? " --verify" : "");
    for (size_t i = 0; i < options->unit_count; i++)
        fprintf(stderr, " \"%s\"", options->units[i]);
    fputs("' goes on where it stopped\n", stderr);
}

int wh_sweep_begin(const wh_sweep_options *options, wh_sweep_walk *walk)
{
    wh_error error;
    wh_store *store;
    wh_roster *roster = NULL;
    wh_sweep *sweep = NULL;
    bool mark = false;
    if (wh_cli_store_open(options->store, WH_STORE_WRITE, &store, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_status opened = wh_store_roster_load(store, &roster, &error);
    if (opened == WH_OK)
        opened = choose(store, options, &sweep, &mark, &error);
    if (opened != WH_OK) {
        wh_sweep_free(&sweep);
        wh_roster_destroy(&roster);
        wh_store_close(&store);
        return wh_exit_for(&error);
    }
    const int status = wh_sweep_walk_open(walk, options, store, roster, sweep);
    walk->mark_repair = mark;
    if (status != 0)
        wh_sweep_walk_close(walk);
    return status;
}

int wh_sweep_finish(const wh_sweep_options *options, wh_sweep_walk *walk, int status)
{
    const bool ended = wh_sweep_ended(walk->sweep), begun = walk->sweep->id != 0;
    const unsigned strangers = begun ? wh_sweep_run_walk(walk->run)->strangers : 0;
    if (strangers > 0)
        printf("%u of other people's sensors heard and not kept\n", strangers);
    if (walk->bursts_kept > 0)
        printf("%u burst%s that no descriptor knows, kept for 'wheelhark study': %s\n", walk->bursts_kept,
               walk->bursts_kept == 1 ? "" : "s", wh_sweep_bursts_folder(walk->bursts));
    if (ended)
        wh_sweep_tidy(walk);
    wh_sweep_walk_close(walk);
    if (begun && !ended)
        say_how_to_go_on(options);
    if (!ended)
        return status;
    const int found = wh_sweep_summary(options);
    return status > found ? status : found;
}

int wh_sweep_once(const wh_sweep_options *options)
{
    wh_sweep_walk walk;
    const int status = wh_sweep_begin(options, &walk);
    if (status != 0)
        return status;
    wh_stop_install();
    return wh_sweep_finish(options, &walk,
                           options->recording_count > 0 ? wh_sweep_walk_files(&walk) : wh_sweep_walk_live(&walk));
}
