/* A walk with a dongle in the hand: keys, and what happens to laptops outdoors. */
#include "sweep_walk.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#define SLEPT_S      1.0  /* the difference of the two clocks moves by less than a millisecond while awake */
#define REOPEN_MS    1000 /* a dongle that is plugged in again is heard within two seconds */
#define KEY_PATIENCE 100  /* ms to wait for a key while nothing is heard */

static double clock_s(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Seconds this machine slept since it was started: CLOCK_MONOTONIC stands still meanwhile. */
static double asleep_s(void)
{
#ifdef CLOCK_BOOTTIME
    return clock_s(CLOCK_BOOTTIME) - clock_s(CLOCK_MONOTONIC);
#else
    return 0.0;
#endif
}

int64_t wh_sweep_walk_now(const wh_sweep_walk *walk)
{
    const int64_t heard = wh_sweep_clock_now(&walk->clock);
    const int64_t wall = (int64_t)(clock_s(CLOCK_REALTIME) * 1e6);
    const bool recorded = walk->options->recording_count > 0; /* their time ends with them */
    return recorded || walk->scene.source[0] || !walk->clock.dated || wall < heard ? heard : wall;
}

static void gap(wh_sweep_walk *walk, const char *why)
{
    wh_error error;
    const wh_status status = wh_sweep_run_gap(walk->run, why, wh_sweep_clock_now(&walk->clock), &error);
    wh_sweep_walk_done(walk, status, &error);
}

/* Two keys end things: they count when pressed twice. */
static bool twice(wh_sweep_walk *walk, wh_key key, const char *question)
{
    const bool sure = walk->asked == key;
    walk->asked = sure ? WH_KEY_NONE : key;
    if (!sure)
        wh_sweep_walk_say(walk, "%s", question);
    return sure;
}

static void take_key(wh_sweep_walk *walk, wh_key key)
{
    if (key != walk->asked)
        walk->asked = key == WH_KEY_REPAIRED || key == WH_KEY_END ? walk->asked : WH_KEY_NONE;
    switch (key) {
    case WH_KEY_NEXT: wh_sweep_walk_press(walk, WH_WALK_NEXT); break;
    case WH_KEY_BACK: wh_sweep_walk_press(walk, WH_WALK_BACK); break;
    case WH_KEY_WOKEN: wh_sweep_walk_press(walk, WH_WALK_WOKEN); break;
    case WH_KEY_ACCEPT: wh_sweep_walk_accept(walk); break;
    case WH_KEY_UNDO: wh_sweep_walk_press(walk, WH_WALK_UNDO); break;
    case WH_KEY_UNIT: wh_sweep_walk_press(walk, WH_WALK_NEXT_UNIT); break;
    case WH_KEY_REPAIRED:
        if (twice(walk, key,
                  "Is the repair of this unit done? 'r' again: yes. All its wheels are heard once more then."))
            wh_sweep_walk_press(walk, WH_WALK_REPAIRED);
        break;
    case WH_KEY_END:
        if (twice(walk, key, "Finish the sweep here? 'e' again: yes."))
            wh_sweep_walk_press(walk, WH_WALK_END);
        break;
    case WH_KEY_QUIT: walk->quit = true; break;
    case WH_KEY_OTHER: wh_sweep_walk_say(walk, "%s", wh_sweep_keys_text); break;
    case WH_KEY_NONE: break;
    }
}

static bool over(const wh_sweep_walk *walk)
{
    return walk->quit || wh_sweep_walk_over(walk);
}

/* Keys that were pressed, and the picture. */
static void look_up(wh_sweep_walk *walk, int wait_ms)
{
    wh_key key = wh_keys_next(&walk->keys, wait_ms);
    while (key != WH_KEY_NONE && !over(walk)) {
        take_key(walk, key);
        key = wh_keys_next(&walk->keys, 0);
    }
    if (walk->attend)
        walk->attend(walk);
    walk->scene.now_us = wh_sweep_walk_now(walk);
    walk->show->tick(&walk->scene);
}

static bool more(void *context, wh_source *source, bool idle)
{
    wh_sweep_walk *walk = context;
    (void)source;
    (void)idle;
    const double slept = asleep_s() - walk->asleep_s;
    if (slept > SLEPT_S) {
        char why[WH_NOTE_SIZE];
        snprintf(why, sizeof why, "the computer slept for %.0f s", slept);
        gap(walk, why);
        walk->asleep_s += slept;
        walk->restart = true; /* samples are counted: their time is wrong from here on */
        return false;
    }
    look_up(walk, 0);
    return !over(walk);
}

/* Until the source can be opened again. */
static void wait_for_source(wh_sweep_walk *walk)
{
    for (int waited = 0; waited < REOPEN_MS && !over(walk); waited += KEY_PATIENCE) {
        const struct timespec pause = {0, KEY_PATIENCE * 1000000L};
        nanosleep(&pause, NULL);
        look_up(walk, 0);
    }
}

/* Something failed that plugging it in again mends, or that passes by itself. */
static bool may_come_back(wh_status status)
{
    return status == WH_ERR_GONE || status == WH_ERR_NOT_FOUND || status == WH_ERR_BUSY || status == WH_ERR_IO ||
           status == WH_ERR_PERMISSION; /* the system gives access a moment after the dongle is there */
}

static int listen_on(wh_sweep_walk *walk)
{
    wh_error error;
    char told[sizeof error.what] = "";
    while (!over(walk)) {
        walk->restart = false;
        const wh_status status = wh_sweep_walk_input(walk, more, &error);
        if (walk->restart || over(walk))
            continue;
        if (status == WH_OK)
            wh_fail(&error, WH_ERR_GONE, NULL, "the source ended");
        if (!walk->clock.running || !may_come_back(error.status)) {
            /* Never heard anything: not a dongle that was pulled out, but something to mend first. */
            wh_keys_end(&walk->keys);
            walk->show->end(&walk->scene);
            const int code = wh_exit_for(&error);
            return code == WH_EXIT_NO_INPUT ? WH_EXIT_UNAVAILABLE : code;
        }
        gap(walk, error.what);
        if (strcmp(told, error.what) != 0) {
            snprintf(told, sizeof told, "%s", error.what);
            wh_sweep_walk_say(walk, "%.110s. Plug it in again; nothing is lost.", error.what);
        }
        wait_for_source(walk);
    }
    return 0;
}

int wh_sweep_walk_live(wh_sweep_walk *walk)
{
    wh_error error;
    walk->asleep_s = asleep_s();
    if (walk->options->own_band) {
        const wh_status status =
            wh_sweep_band(walk->roster, walk->sweep, walk->descriptors, walk->options->settings.frequency_hz,
                          walk->source.sample_rate_hz, &walk->source.centre_hz, &error);
        if (status != WH_OK)
            return wh_exit_for(&error);
    }
    wh_keys_begin(&walk->keys);
    walk->show->begin(&walk->scene);
    wh_sweep_walk_say(walk, "%s", wh_sweep_keys_text);
    const int status = listen_on(walk);
    if (status != 0)
        return status;
    if (!walk->failed)
        gap(walk, walk->quit ? "paused" : wh_stop_asked() ? "interrupted" : "finished");
    wh_keys_end(&walk->keys);
    walk->show->end(&walk->scene);
    if (walk->failed)
        return wh_exit_for(&walk->failure);
    return wh_stop_asked() ? WH_EXIT_INTERRUPTED : 0;
}
