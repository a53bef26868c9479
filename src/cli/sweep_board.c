/* A walk as a board that fills the terminal: the unit from above, one cell per wheel, readable from two metres. */
#include "sweep_show.h"

#include "wheel_state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define CELL     15  /* columns of a cell, frame included */
#define MIDDLE   12  /* ... between the sides: the frame of the unit */
#define REDRAW_S 0.2 /* no oftener than this */

static double drawn_s = -1.0;
static bool dirty;

bool wh_sweep_board_able(const wh_sweep_options *options)
{
    const char *terminal = getenv("TERM");
    return !options->plain && isatty(STDOUT_FILENO) && isatty(STDIN_FILENO) && terminal && terminal[0] &&
           strcmp(terminal, "dumb") != 0;
}

/* The style of a board's text on this terminal. */
typedef struct look {
    bool utf8, color;
} look;

/* The locale's character set by POSIX's order of the variables; the program itself runs in the C locale. */
static bool utf8_terminal(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *value = getenv(names[i]);
        if (value && value[0])
            return strstr(value, "UTF-8") || strstr(value, "utf8");
    }
    return false;
}

static look look_of(const wh_sweep_options *options)
{
    const char *no_color = getenv("NO_COLOR");
    const bool never = strcmp(options->run.color, "never") == 0, always = strcmp(options->run.color, "always") == 0;
    return (look){.utf8 = utf8_terminal(), .color = always || (!never && !(no_color && no_color[0]))};
}

/* Fills with 7:1 contrast and more on the usual palettes: meaning is in symbol and word first. */
static const char *fill_of(wh_wheel_tone tone)
{
    switch (tone) {
    case WH_TONE_QUIET: return "\x1b[97;44m";
    case WH_TONE_CHECK: return "\x1b[30;103m";
    case WH_TONE_FAULT: return "\x1b[97;41;1m";
    default: return "";
    }
}

static void put_cell_line(wh_text *text, const look *l, const char *fill, bool here, const char *content)
{
    const char *edge = here ? (l->utf8 ? "\xE2\x96\x88" : "#") : (l->utf8 ? "\xE2\x94\x82" : "|");
    wh_text_add(text, edge);
    if (l->color)
        wh_text_add(text, fill);
    wh_text_pad(text, content, CELL - 2);
    if (l->color && fill[0])
        wh_text_add(text, "\x1b[0m");
    wh_text_add(text, edge);
}

/* What stands in the lines of a cell. */
typedef struct cell {
    char lines[3][48];
    const char *fill;
    bool here, there;
} cell;

static cell cell_of(const wh_sweep_scene *scene, const look *l, const wh_sweep_insight *insight, const wh_wheel *wheel,
                    bool here)
{
    cell c = {.here = here, .there = true, .fill = ""};
    char position[WH_POSITION_SIZE], number[WH_FIXED_SIZE], symbol[2] = "";
    const wh_seat *seat = wh_insight_seat(insight, wheel->position);
    if (!seat)
        return c;
    const wh_wheel_state state = wh_wheel_state_of(seat, insight->unit->name, insight->findings);
    symbol[0] = state.ascii;
    c.fill = fill_of(state.tone);
    snprintf(c.lines[0], sizeof c.lines[0], " %-4s %s", wh_position_text(position, wheel->position),
             here ? "HERE" : "");
    snprintf(c.lines[1], sizeof c.lines[1], " %s %s", l->utf8 ? state.symbol : symbol, state.word);
    if (seat->answered && seat->latest.pressure_state == WH_VALUE_OK) {
        const wh_pressure_unit unit = scene->options->run.style.pressure;
        snprintf(c.lines[2], sizeof c.lines[2], " %s %s",
                 wh_fixed(number, wh_kpa_to(seat->latest.pressure.kpa, unit), unit == WH_BAR ? 2 : 0),
                 wh_pressure_unit_name(unit));
    } else if (seat->sensor[0]) {
        snprintf(c.lines[2], sizeof c.lines[2], " %.12s", seat->sensor);
    }
    return c;
}

static void put_axle(wh_text *text, const wh_sweep_scene *scene, const look *l, const wh_sweep_insight *insight,
                     unsigned axle, const wh_stop *here)
{
    static const wh_position places[] = {{0, WH_LEFT, WH_OUTER},   {0, WH_LEFT, WH_INNER},  {0, WH_LEFT, WH_SINGLE},
                                         {0, WH_RIGHT, WH_SINGLE}, {0, WH_RIGHT, WH_INNER}, {0, WH_RIGHT, WH_OUTER}};
    enum { PLACES = sizeof places / sizeof *places };
    cell cells[PLACES];
    const bool dual = insight->unit->dual[axle];
    for (unsigned i = 0; i < PLACES; i++) {
        wh_position position = places[i];
        position.axle = (uint8_t)(axle + 1);
        const wh_wheel *wheel = wh_unit_wheel_const(insight->unit, position);
        cells[i].there = false;
        if (wheel)
            cells[i] = cell_of(scene, l, insight, wheel, here && wh_position_equal(here->position, position));
    }
    for (unsigned line = 0; line < 3; line++) {
        if (!dual)
            wh_text_pad(text, "", CELL);
        for (unsigned i = 0; i < PLACES; i++) {
            if (i == PLACES / 2)
                wh_text_pad(text, line == 1 ? "  ========" : "", MIDDLE);
            if (cells[i].there)
                put_cell_line(text, l, cells[i].fill, cells[i].here, cells[i].lines[line]);
        }
        wh_text_add(text, "\x1b[K\r\n");
    }
    wh_text_add(text, "\x1b[K\r\n");
}

static void put_head(wh_text *text, const wh_sweep_scene *scene, const look *l, const wh_sweep_insight *insight)
{
    const wh_walk *walk = wh_sweep_run_walk(scene->run);
    char number[WH_FIXED_SIZE];
    unsigned heard = 0;
    for (unsigned i = 0; i < insight->attribution->seat_count; i++)
        heard += insight->attribution->seats[i].sensor[0] != '\0';
    if (l->color)
        wh_text_add(text, "\x1b[1m");
    wh_text_print(text, " %s (%s)   %u of %u wheels heard", insight->unit->name, wh_unit_kind_name(insight->unit->kind),
                  heard, insight->attribution->seat_count);
    if (scene->sweep->unit_count > 1)
        wh_text_print(text, "   wheel %zu of %zu in the yard", walk->at + 1, walk->stop_count);
    wh_text_add(text, l->color ? "\x1b[0m\x1b[K\r\n" : "\x1b[K\r\n");
    if (scene->source[0])
        wh_text_print(text, " listening on %s MHz, %s", wh_fixed(number, scene->centre_hz * 1e-6, 2), scene->source);
    else
        wh_text_add(text, " NOT LISTENING");
    if (walk->strangers > 0)
        wh_text_print(text, "   (%u of other people's sensors, not kept)", walk->strangers);
    wh_text_add(text, "\x1b[K\r\n\x1b[K\r\n");
}

static void put_foot(wh_text *text, const wh_sweep_scene *scene, const wh_sweep_insight *insight)
{
    const wh_walk *walk = wh_sweep_run_walk(scene->run);
    const wh_stop *stop = &walk->stops[walk->at];
    char position[WH_POSITION_SIZE];
    if (walk->phase == WH_WALK_AT) {
        const wh_seat *seat = wh_insight_seat(insight, stop->position);
        const wh_wheel *wheel = wh_unit_wheel_const(insight->unit, stop->position);
        wh_text_print(text, " %s: on record %s. Heard: ", wh_position_text(position, stop->position),
                      wheel->sensor[0] ? wheel->sensor : "none");
        wh_sweep_seat_text(text, wheel, seat);
        wh_text_add(text, "\x1b[K\r\n ");
        wh_sweep_advice_text(text, scene, stop, seat);
    } else {
        wh_text_add(text, walk->phase == WH_WALK_DONE ? " The round is done. Enter finishes the sweep."
                                                      : " Go to the next wheel and press Enter.");
        wh_text_add(text, "\x1b[K\r\n");
    }
    wh_text_add(text, "\x1b[K\r\n\x1b[K\r\n ");
    wh_text_add(text, scene->word);
    wh_text_add(text, "\x1b[K\r\n\x1b[J");
}

static void draw(wh_sweep_scene *scene)
{
    const wh_walk *walk = wh_sweep_run_walk(scene->run);
    const wh_stop *stop = &walk->stops[walk->at];
    const look l = look_of(scene->options);
    wh_error error;
    const wh_sweep_insight *insight = wh_sweep_insight_of(scene->insights, scene->sweep, stop->unit, &error);
    if (!insight)
        return;
    wh_text text = {0};
    wh_text_add(&text, "\x1b[H");
    put_head(&text, scene, &l, insight);
    for (unsigned axle = 0; axle < insight->unit->axle_count; axle++)
        put_axle(&text, scene, &l, insight, axle, walk->phase == WH_WALK_AT ? stop : NULL);
    put_foot(&text, scene, insight);
    if (text.data && !text.failed) {
        fwrite(text.data, 1, text.length, stdout);
        fflush(stdout);
    }
    wh_text_free(&text);
}

static void tick(wh_sweep_scene *scene)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    const double now_s = (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
    if (now_s - drawn_s < (dirty ? REDRAW_S : 1.0))
        return;
    drawn_s = now_s;
    dirty = false;
    draw(scene);
}

static void event(wh_sweep_scene *scene, const wh_event *happened)
{
    char position[WH_POSITION_SIZE];
    dirty = true;
    if (happened->kind == WH_EVENT_HEARD) {
        wh_text text = {0};
        wh_text_print(&text, "heard %s: ", happened->heard.sensor);
        wh_sweep_values_text(&text, scene->options, &happened->heard);
        snprintf(scene->word, sizeof scene->word, "%s", text.data ? text.data : "");
        wh_text_free(&text);
        if (!scene->options->run.quiet)
            fputs("\a", stdout);
    } else if (happened->kind == WH_EVENT_STAND || happened->kind == WH_EVENT_WOKEN) {
        snprintf(scene->word, sizeof scene->word, "%s %s", happened->kind == WH_EVENT_STAND ? "standing at" : "woken:",
                 wh_position_text(position, happened->position));
    }
}

static void say(wh_sweep_scene *scene)
{
    (void)scene;
    dirty = true;
}

/* The alternate screen: what stood there before comes back at the end. */
static void begin(wh_sweep_scene *scene)
{
    (void)scene;
    dirty = true;
    fputs("\x1b[?1049h\x1b[?25l\x1b[2J", stdout);
    fflush(stdout);
}

static void end(wh_sweep_scene *scene)
{
    (void)scene;
    fputs("\x1b[?25h\x1b[?1049l", stdout);
    fflush(stdout);
}

const wh_sweep_show wh_sweep_board = {.event = event, .say = say, .tick = tick, .begin = begin, .end = end};
