#include "web_session.h"

#include "descriptor_choice.h"
#include "findings_views.h"
#include "json_writer.h"
#include "sheet_now.h"
#include "sweep_begin.h"
#include "web_assets.h"
#include "yard_store.h"

#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PUBLISH_S     0.2  /* no oftener: a page draws no faster, and readings may come by the thousand a minute */
#define BURSTS_S      1.0  /* the list of bursts, which is long, no oftener */
#define AGE_S         5.0  /* ages on the board move on at least this often */
#define WAIT_MS       50   /* for commands, while samples are not due yet */
#define BLOCK_SAMPLES 8192 /* of recordings: short enough for keys to be taken in between, 33 ms at 250 kS/s */

static double clock_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* The options as they are now; the server's thread and the walk's both use them. */
static wh_case_options options_now(wh_web_session *session)
{
    pthread_mutex_lock(&session->lock);
    wh_case_options options = session->options;
    pthread_mutex_unlock(&session->lock);
    options.thresholds = &session->thresholds;
    return options;
}

static bool give_error(wh_web_body *body, const wh_error *error)
{
    wh_text text = {0};
    wh_text_print(&text, "%s\n", error->what);
    if (error->fix[0])
        wh_text_print(&text, "%s\n", error->fix);
    body->status = error->status == WH_ERR_NOT_FOUND ? 404 : 500;
    return wh_web_body_take(body, &text, "text/plain; charset=utf-8");
}

/* What is made of a unit's case. */
typedef struct made {
    const char *path, *type;
    bool own_style;
} made;

static const made makings[] = {
    {"/unit", "application/json", false},
    {"/sheet", "text/html; charset=utf-8", true},
    {"/trend", "image/svg+xml", false},
};

static wh_status make(const made *what, const wh_yard_case *yard_case, const wh_case_options *options,
                      const wh_web_query *query, wh_text *text, wh_error *error)
{
    const char *place = wh_web_query_value(query, "position");
    wh_position position;
    if (what == &makings[0])
        wh_web_unit_put(text, yard_case, options);
    else if (what == &makings[1])
        wh_sheet_now(text, yard_case, options, true);
    else if (!place || !wh_position_parse(place, &position))
        return wh_fail(error, WH_ERR_NOT_FOUND, NULL, "name a wheel position, e.g. position=3LO");
    else
        return wh_view_trend(text, options, yard_case, position, error);
    return WH_OK;
}

/* In the server's thread, with a store of its own. */
static bool get(void *context, const char *path, const wh_web_query *query, wh_web_body *body)
{
    wh_web_session *session = context;
    if (strcmp(path, "/burst") == 0)
        return wh_web_burst_get(session->shelf, session->descriptors, query, session->burst_file, body);
    const made *what = NULL;
    for (size_t i = 0; i < sizeof makings / sizeof *makings && !what; i++)
        what = strcmp(path, makings[i].path) == 0 ? &makings[i] : NULL;
    const char *unit = wh_web_query_value(query, "unit");
    if (!what || !unit)
        return false;
    wh_store *store;
    wh_yard_case *yard_case;
    wh_error error;
    wh_text text = {0};
    const wh_case_options options = options_now(session);
    if (wh_cli_store_open(session->store, WH_STORE_READ, &store, &error) != WH_OK)
        return give_error(body, &error);
    wh_status status = wh_yard_case_load(store, unit, &options, &yard_case, &error);
    wh_store_close(&store);
    if (status == WH_OK)
        status = make(what, yard_case, &options, query, &text, &error);
    wh_yard_case_free(&yard_case);
    if (status != WH_OK) {
        wh_text_free(&text);
        return give_error(body, &error);
    }
    body->own_style = what->own_style;
    return wh_web_body_take(body, &text, what->type);
}

static void publish(wh_web_session *session, const char *path, wh_text *text)
{
    if (!text->failed && text->data)
        wh_web_publish(session->server, path, "application/json", text->data, text->length, session->published_id);
    wh_text_free(text);
}

static void publish_board(wh_web_session *session)
{
    wh_text text = {0};
    const wh_sweep *sweep = session->walk->sweep;
    session->published_id = sweep->event_count ? sweep->events[sweep->event_count - 1].id : session->published_id;
    wh_web_board_put(&text, session->walk);
    publish(session, "/board", &text);
}

static void publish_yard(wh_web_session *session)
{
    wh_text text = {0};
    wh_store *store;
    wh_error error;
    const wh_case_options options = options_now(session);
    if (wh_cli_store_open(session->store, WH_STORE_READ, &store, &error) != WH_OK)
        return;
    if (wh_web_yard_put(&text, store, &options, &error) == WH_OK)
        publish(session, "/yard", &text);
    wh_text_free(&text);
    wh_store_close(&store);
}

/* Where in the samples the walk is: for whoever wants to keep step with a recording. */
static void publish_clock(wh_web_session *session)
{
    const wh_sweep_walk *walk = session->walk;
    wh_text text = {0};
    const int64_t since_us = walk->clock.running ? walk->scene.now_us - walk->clock.first_us : 0;
    wh_json_open(&text);
    wh_json_put_fixed(&text, "clock_s", (double)since_us * 1e-6, 3);
    wh_json_close(&text);
    if (!text.failed)
        wh_web_publish_quietly(session->server, "/clock", "application/json", text.data, text.length);
    wh_text_free(&text);
}

static void publish_bursts(wh_web_session *session)
{
    wh_text text = {0};
    wh_burst_shelf_json(session->shelf, &text);
    publish(session, "/bursts", &text);
    session->bursts_s = clock_s();
}

static void tick(wh_web_session *session)
{
    publish_clock(session);
    const double now = clock_s(), since = now - session->published_s;
    if (now - session->bursts_s >= BURSTS_S && wh_burst_shelf_changed(session->shelf))
        publish_bursts(session);
    if (since < (session->dirty ? PUBLISH_S : AGE_S))
        return;
    session->published_s = now;
    publish_board(session);
    /* The yard's lines need the store: seldom. */
    if (session->stale && now - session->yard_s >= AGE_S) {
        publish_yard(session);
        session->yard_s = now;
        session->stale = false;
    }
    session->dirty = false;
}

/* ---- How a walk is shown: by publishing. ---- */

static void on_event(wh_sweep_scene *scene, const wh_event *event)
{
    wh_web_session *session = scene->page;
    (void)event;
    session->dirty = session->stale = true;
}

static void on_say(wh_sweep_scene *scene)
{
    ((wh_web_session *)scene->page)->dirty = true;
}

static void on_tick(wh_sweep_scene *scene)
{
    tick(scene->page);
}

static void nothing(wh_sweep_scene *scene)
{
    (void)scene;
}

static const wh_sweep_show pages = {on_event, on_say, on_tick, nothing, nothing};

/* ---- Commands. ---- */

static void measure(wh_web_session *session, const wh_web_request *request)
{
    pthread_mutex_lock(&session->lock);
    session->options.pressure_unit = request->pressure;
    session->options.temperature_unit = request->temperature;
    pthread_mutex_unlock(&session->lock);
    session->asked->insight.pressure_unit = session->asked->run.style.pressure = request->pressure;
    session->asked->insight.temperature_unit = session->asked->run.style.temperature = request->temperature;
    if (session->walk)
        wh_sweep_insights_forget(session->walk->insights);
    publish_yard(session);
}

static void obey(wh_web_session *session, const wh_web_request *request)
{
    wh_sweep_walk *walk = session->walk;
    if (request->action == WH_WEB_MEASURE)
        measure(session, request);
    else if (request->action == WH_WEB_PLAY || request->action == WH_WEB_PAUSE)
        session->until_s = request->action == WH_WEB_PLAY ? request->until_s : 0.0;
    else if (!walk)
        return;
    else if (request->action == WH_WEB_KEY)
        wh_sweep_walk_press(walk, request->key);
    else if (request->action == WH_WEB_ACCEPT)
        wh_sweep_walk_accept(walk);
    else if (request->action == WH_WEB_STAND)
        wh_sweep_walk_stand(walk, request->unit, request->position);
    else
        wh_sweep_walk_bind(walk, request->sensor);
    session->dirty = true;
}

static void take_commands(wh_web_session *session)
{
    wh_web_command command;
    wh_web_request request;
    wh_error error;
    while (wh_web_take(session->server, &command)) {
        if (wh_web_request_read(command.text, command.length, &request, &error) == WH_OK)
            obey(session, &request);
        else if (session->walk)
            wh_sweep_walk_say(session->walk, "%s", error.what);
    }
}

static void wait_for_command(wh_web_session *session, int wait_ms)
{
    struct pollfd waiting = {.fd = wh_web_command_fd(session->server), .events = POLLIN};
    poll(&waiting, 1, wait_ms);
    take_commands(session);
    if (session->walk)
        tick(session);
}

/* Live: called where the terminal looks for keys. */
static void attend(wh_sweep_walk *walk)
{
    take_commands(walk->scene.page);
}

/* Seconds until samples at `signal_s` are due: none when they are late; infinite while the page holds them. While they are
 * held the time does not run. */
static double early_s(wh_web_session *session, double signal_s)
{
    const double now = clock_s();
    if (signal_s >= session->until_s) {
        session->begun_s = session->pace > 0 ? now - signal_s / session->pace : now;
        return INFINITY;
    }
    return session->pace > 0 ? session->begun_s + signal_s / session->pace - now : 0.0;
}

/* Recordings: hold the samples back until they are due, and do what the pages say meanwhile. While the page holds them, all that was
 * heard so far is there before a command is taken: a walk gives the same whatever the threads were at. */
static bool more_paced(void *context, wh_source *source, bool idle)
{
    wh_sweep_walk *walk = context;
    wh_web_session *session = walk->scene.page;
    (void)source;
    (void)idle;
    if (!walk->clock.running)
        return !wh_sweep_walk_over(walk);
    if (session->begun_s < 0)
        session->begun_s = clock_s();
    for (;;) {
        walk->scene.now_us = wh_sweep_clock_now(&walk->clock);
        const double early_ms = 1e3 * early_s(session, (double)(walk->scene.now_us - walk->clock.first_us) * 1e-6);
        if (isinf(early_ms) && wh_receiver_settle(walk->receiver) != WH_OK)
            return false; /* the next push, or the end, tells that memory is out */
        wait_for_command(session, early_ms <= 0 ? 0 : early_ms < WAIT_MS ? (int)ceil(early_ms) : WAIT_MS);
        if (early_ms <= 0 || wh_sweep_walk_over(walk))
            return !wh_sweep_walk_over(walk);
    }
}

/* The recordings are over, the technician is not: he judges, prints, marks, and finishes. */
static int walk_recordings(wh_web_session *session)
{
    wh_sweep_walk *walk = session->walk;
    wh_error error;
    while (!wh_web_watched(session->server) && !wh_sweep_walk_over(walk)) /* nobody would see it */
        wait_for_command(session, WAIT_MS);
    walk->source.block_samples = (size_t)BLOCK_SAMPLES;
    for (size_t i = 0; i < walk->options->recording_count && !wh_sweep_walk_over(walk); i++) {
        walk->source.target = walk->options->recordings[i];
        session->begun_s = i == 0 ? -1.0 : session->begun_s;
        if (wh_sweep_walk_input(walk, more_paced, &error) != WH_OK)
            walk->status = wh_exit_for(&error);
    }
    if (walk->clock.running && !walk->failed) {
        const wh_status status =
            wh_sweep_run_gap(walk->run, "end of the recordings", wh_sweep_clock_now(&walk->clock), &error);
        wh_sweep_walk_done(walk, status, &error);
        wh_sweep_walk_say(walk, "The recordings are at their end.");
    }
    while (!wh_sweep_walk_over(walk))
        wait_for_command(session, WAIT_MS);
    return walk->failed ? wh_exit_for(&walk->failure) : walk->status;
}

static int walk_served(wh_web_session *session, wh_sweep_walk *walk)
{
    session->walk = walk;
    walk->show = &pages;
    walk->scene.page = session;
    walk->attend = attend;
    publish_clock(session);
    publish_board(session);
    publish_yard(session);
    publish_bursts(session);
    const int status = walk->options->recording_count > 0 ? walk_recordings(session) : wh_sweep_walk_live(walk);
    publish_board(session);
    publish_yard(session);
    publish_bursts(session);
    session->walk = NULL;
    return status;
}

static void serve_yard(wh_web_session *session)
{
    publish_yard(session);
    while (!wh_stop_asked())
        wait_for_command(session, 10 * WAIT_MS);
}

static int open_session(wh_web_session *session, wh_sweep_options *options)
{
    wh_error error;
    *session = (wh_web_session){.asked = options,
                                .store = options->store,
                                .pace = options->pace,
                                .until_s = options->paused ? 0.0 : INFINITY,
                                .thresholds = options->thresholds,
                                .options = {.site = options->insight.site,
                                            .pressure_unit = options->insight.pressure_unit,
                                            .temperature_unit = options->insight.temperature_unit}};
    const wh_web_config config = {.address = options->address,
                                  .port = (uint16_t)options->port,
                                  .assets = wh_web_assets,
                                  .asset_count = wh_web_asset_count,
                                  .get = get,
                                  .context = session};
    pthread_mutex_init(&session->lock, NULL);
    session->shelf = options->shelf = wh_burst_shelf_create();
    if (!session->shelf) {
        wh_fail(&error, WH_ERR_MEMORY, "close other programs", "out of memory");
        return wh_exit_for(&error);
    }
    const wh_run_options *run = &options->run;
    if (options->unit_count > 0 &&
        wh_choose_descriptors(run->descriptors, run->only, run->only_count, &session->descriptors, &error) != WH_OK)
        return wh_exit_for(&error);
    return wh_web_server_start(&config, &session->server, &error) == WH_OK ? 0 : wh_exit_for(&error);
}

static void close_session(wh_web_session *session)
{
    wh_web_server_stop(&session->server);
    wh_burst_shelf_destroy(&session->shelf);
    wh_descriptor_set_destroy(&session->descriptors);
    session->asked->shelf = NULL;
    pthread_mutex_destroy(&session->lock);
}

int wh_web_serve(wh_sweep_options *options)
{
    wh_web_session session;
    wh_sweep_walk walk;
    options->board = true;
    int status = open_session(&session, options);
    if (status != 0) {
        close_session(&session);
        return status;
    }
    wh_stop_install();
    printf("Open %s in a browser. Ctrl-C ends.\n", wh_web_server_url(session.server));
    fflush(stdout);
    if (options->unit_count > 0 && (status = wh_sweep_begin(options, &walk)) == 0)
        status = wh_sweep_finish(options, &walk, walk_served(&session, &walk));
    /* What was found stays to be looked at and printed. */
    if (status <= WH_EXIT_FINDINGS)
        serve_yard(&session);
    close_session(&session);
    return status == WH_EXIT_INTERRUPTED ? 0 : status; /* Ctrl-C is how serving ends */
}
