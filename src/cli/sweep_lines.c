/* A walk as plain lines on standard output. */
#include "sweep_show.h"

#include "wheel_state.h"

#include <stdio.h>
#include <string.h>

static void put(wh_text *text)
{
    if (text->data) {
        fputs(text->data, stdout);
        putchar('\n');
        fflush(stdout);
    }
    wh_text_free(text);
}

static const wh_wheel *wheel_of(const wh_sweep_scene *scene, const wh_event *event)
{
    const wh_unit *unit = wh_roster_find(scene->roster, event->unit);
    return unit ? wh_unit_wheel_const(unit, event->position) : NULL;
}

/* "Anvil 3  3LO  ", the unit only when there are several. */
static void put_place(wh_text *text, const wh_sweep_scene *scene, const char *unit, wh_position position)
{
    char name[WH_POSITION_SIZE];
    if (scene->sweep->unit_count > 1)
        wh_text_print(text, "%s ", unit);
    wh_text_pad(text, wh_position_text(name, position), 5);
    wh_text_add(text, " ");
}

static void show_stand(const wh_sweep_scene *scene, const wh_event *event)
{
    const wh_wheel *wheel = wheel_of(scene, event);
    if (!wheel)
        return;
    wh_text text = {0};
    char number[WH_FIXED_SIZE];
    const wh_report_style *style = &scene->options->run.style;
    put_place(&text, scene, event->unit, event->position);
    wh_text_print(&text, "on record %s", wheel->sensor[0] ? wheel->sensor : "none");
    if (wheel->target.kpa > 0.0)
        wh_text_print(
            &text, ", to be %s %s gauge cold",
            wh_fixed(number, wh_kpa_to(wheel->target.kpa, style->pressure), style->pressure == WH_BAR ? 2 : 0),
            wh_pressure_unit_name(style->pressure));
    put(&text);
}

static void show_heard(const wh_sweep_scene *scene, const wh_event *event)
{
    wh_text text = {0};
    char number[WH_FIXED_SIZE];
    if (event->kind == WH_EVENT_HEARD) {
        wh_text_print(&text, "      heard %s  ", event->heard.sensor);
        wh_sweep_values_text(&text, scene->options, &event->heard);
    } else {
        wh_text_add(&text, "      heard a burst that no descriptor knows");
    }
    wh_text_print(&text, ", %s dBFS", wh_fixed(number, event->heard.level_dbfs, 0));
    put(&text);
}

/* What is known of the wheel that he leaves. */
static void show_left(wh_sweep_scene *scene, const wh_event *stood)
{
    wh_error error;
    const wh_sweep_insight *insight = wh_sweep_insight_of(scene->insights, scene->sweep, stood->unit, &error);
    const wh_seat *seat = wh_insight_seat(insight, stood->position);
    const wh_wheel *wheel = wheel_of(scene, stood);
    if (!seat || !wheel)
        return;
    wh_text text = {0};
    const wh_wheel_state state = wh_wheel_state_of(seat, stood->unit, insight->findings);
    put_place(&text, scene, stood->unit, stood->position);
    wh_sweep_seat_text(&text, wheel, seat);
    if (state.worst)
        wh_text_print(&text, ": %c %s", state.ascii, state.word);
    put(&text);
}

/* The wheel he stood at before an event of the sweep. */
static const wh_event *stood_before(const wh_sweep_scene *scene, const wh_event *happened)
{
    for (size_t i = (size_t)(happened - scene->sweep->events); i-- > 0;) {
        const wh_event *event = &scene->sweep->events[i];
        if (event->kind == WH_EVENT_STAND)
            return event;
        if (event->kind == WH_EVENT_LEAVE || event->kind == WH_EVENT_GAP || event->kind == WH_EVENT_LISTEN)
            return NULL;
    }
    return NULL;
}

static void line(const char *before, const char *text, const char *after)
{
    printf("%s%s%s\n", before, text, after);
    fflush(stdout);
}

static void event(wh_sweep_scene *scene, const wh_event *happened)
{
    const wh_event *stood = stood_before(scene, happened);
    switch (happened->kind) {
    case WH_EVENT_STAND:
    case WH_EVENT_LEAVE:
        if (stood)
            show_left(scene, stood);
        if (happened->kind == WH_EVENT_STAND)
            show_stand(scene, happened);
        break;
    case WH_EVENT_WOKEN: line("      woken", "", ""); break;
    case WH_EVENT_HEARD:
    case WH_EVENT_UNKNOWN: show_heard(scene, happened); break;
    case WH_EVENT_BIND: line("      you say: ", happened->heard.sensor, " is here"); break;
    case WH_EVENT_UNBIND: line("      taken back", "", ""); break;
    case WH_EVENT_REPAIRED: line("repair of ", happened->unit, " done: only what is heard from here on counts"); break;
    case WH_EVENT_GAP: line("not listening: ", happened->text, ""); break;
    case WH_EVENT_LISTEN: line("listening on ", happened->text, ""); break;
    case WH_EVENT_END: line("the sweep is finished", "", ""); break;
    case WH_EVENT_KIND_COUNT: break;
    }
}

static void say(wh_sweep_scene *scene)
{
    line("", scene->word, "");
}

static void nothing(wh_sweep_scene *scene)
{
    (void)scene;
}

const wh_sweep_show wh_sweep_lines = {.event = event, .say = say, .tick = nothing, .begin = nothing, .end = nothing};
