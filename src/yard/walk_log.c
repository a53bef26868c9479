#include "walk_log.h"

#include "name_index.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A sensor answers the exciter at once, or at the next try; what comes later has another cause. */
#define ANSWER_US 6000000
/* Two tries at one wheel this close are one trial. */
#define RETRY_US   15000000
#define SENDING_US 3000000 /* copies and repeats of one sending */
/* A reading is told when the pauses between its copies are surely over, at most some seconds after it began. */
#define LATE_US   10000000
#define BEFORE_US 70000000 /* sensors that send by themselves do so about once a minute */

typedef struct walk {
    wh_walk_log *log;
    wh_name_index names;
    size_t place_room, witness_room, level_room, trial_room, answer_room, unknown_room;
    bool listening;
    bool at_unit; /* the last stand was at the unit asked for */
    bool standing;
    int seat;           /* where he stands, of the unit asked for; WH_LOG_NOWHERE: elsewhere */
    int place;          /* of log->places, WH_LOG_NOWHERE */
    bool any_time;      /* last_us holds */
    int64_t last_us;    /* time of the event before */
    size_t quiet_trial; /* the trial of merely standing here; SIZE_MAX: none, or somebody was woken */
    double stood_s;     /* in this stand */
    wh_status status;
} walk;

static void *make_room(walk *w, void *items, size_t *room, size_t count, size_t size)
{
    if (count < *room)
        return items;
    const size_t wanted = *room ? 2 * *room : 64;
    void *more = realloc(items, wanted * size);
    if (!more) {
        w->status = WH_ERR_MEMORY;
        return items;
    }
    *room = wanted;
    return more;
}

int wh_walk_log_seat_at(const wh_unit *unit, wh_position position)
{
    for (unsigned i = 0; i < unit->wheel_count; i++)
        if (wh_position_equal(unit->wheels[i].position, position))
            return (int)i;
    return WH_LOG_NOWHERE;
}

static int place_of(walk *w, const wh_event *event)
{
    wh_walk_log *log = w->log;
    wh_position position = event->position;
    if (position.place == WH_INNER)
        position.place = WH_OUTER;
    for (size_t i = log->place_count; i-- > 0;)
        if (wh_position_equal(log->places[i].position, position) && strcmp(log->places[i].unit, event->unit) == 0)
            return (int)i;
    if (log->place_count >= WH_LOG_PLACES_MAX)
        return WH_LOG_NOWHERE;
    log->places = make_room(w, log->places, &w->place_room, log->place_count, sizeof *log->places);
    if (w->status != WH_OK)
        return WH_LOG_NOWHERE;
    wh_log_place *place = &log->places[log->place_count];
    *place = (wh_log_place){.own = strcmp(event->unit, log->unit->name) == 0, .position = position};
    memcpy(place->unit, event->unit, sizeof place->unit);
    return (int)log->place_count++;
}

static size_t add_trial(walk *w, wh_log_trial trial)
{
    wh_walk_log *log = w->log;
    log->trials = make_room(w, log->trials, &w->trial_room, log->trial_count, sizeof *log->trials);
    if (w->status != WH_OK)
        return SIZE_MAX;
    log->trials[log->trial_count] = trial;
    return log->trial_count++;
}

static void leave(walk *w)
{
    w->standing = false;
    w->seat = w->place = WH_LOG_NOWHERE;
    w->quiet_trial = SIZE_MAX;
}

static void stand(walk *w, const wh_event *event, bool counts)
{
    leave(w);
    w->at_unit = strcmp(event->unit, w->log->unit->name) == 0;
    if (event->position.axle == 0)
        return;
    w->standing = true;
    w->seat = w->at_unit ? wh_walk_log_seat_at(w->log->unit, event->position) : WH_LOG_NOWHERE;
    w->place = place_of(w, event);
    w->stood_s = 0.0;
    if (counts && w->seat >= 0)
        w->log->seats[w->seat].visited = true;
}

/* A stand becomes a trial with the first moment of listening, which may be long after its STAND. */
static void begin_quiet_trial(walk *w, int64_t at_us)
{
    if (w->quiet_trial == SIZE_MAX && w->standing && w->place >= 0 && w->stood_s == 0.0)
        w->quiet_trial = add_trial(w, (wh_log_trial){w->seat, (unsigned)w->place, false, at_us, at_us});
}

static void pass_time(walk *w, const wh_event *event, bool counts)
{
    const int64_t before_us = w->last_us;
    const bool known = w->any_time && event->at_us > before_us;
    w->last_us = event->at_us;
    w->any_time = true;
    /* The time before LISTEN was not listened to, even when the program was killed and could not say so. */
    if (!known || !counts || !w->listening || event->kind == WH_EVENT_LISTEN)
        return;
    const double seconds = ((double)event->at_us - (double)before_us) * 1e-6;
    if (w->at_unit)
        w->log->listened_s += seconds;
    if (!w->standing)
        return;
    begin_quiet_trial(w, before_us);
    w->stood_s += seconds;
    if (w->quiet_trial != SIZE_MAX)
        w->log->trials[w->quiet_trial].end_us = event->at_us;
    if (w->seat >= 0) {
        w->log->seats[w->seat].visited = true;
        w->log->seats[w->seat].stood_s += seconds;
    }
}

static int64_t later(int64_t at_us, int64_t by_us)
{
    return at_us > INT64_MAX - by_us ? INT64_MAX : at_us + by_us;
}

static void woken(walk *w, const wh_event *event)
{
    wh_walk_log *log = w->log;
    const bool own = strcmp(event->unit, log->unit->name) == 0;
    const int seat = own ? wh_walk_log_seat_at(log->unit, event->position) : WH_LOG_NOWHERE;
    const int place = event->position.axle ? place_of(w, event) : WH_LOG_NOWHERE;
    if (place < 0 || (own && seat < 0))
        return;
    if (seat >= 0)
        log->seats[seat].woken = true;
    /* Who wakes says more than who stands: the quiet trial of this stand is off. */
    if (w->quiet_trial != SIZE_MAX && w->quiet_trial + 1 == log->trial_count && w->place == place)
        log->trials[w->quiet_trial].end_us = log->trials[w->quiet_trial].begin_us;
    w->quiet_trial = SIZE_MAX;
    w->stood_s += 1e-9; /* and does not begin again */
    if (log->trial_count > 0) {
        wh_log_trial *last = &log->trials[log->trial_count - 1];
        if (last->woken && last->seat == seat && last->place == (unsigned)place && event->at_us >= last->begin_us &&
            event->at_us <= later(last->end_us, RETRY_US - ANSWER_US)) {
            last->end_us = later(event->at_us, ANSWER_US);
            return;
        }
    }
    if (w->listening)
        add_trial(w, (wh_log_trial){seat, (unsigned)place, true, event->at_us, later(event->at_us, ANSWER_US)});
}

static wh_witness *witness_of(walk *w, const wh_event *event, size_t *index)
{
    wh_walk_log *log = w->log;
    *index = wh_name_index_find(&w->names, event->heard.sensor);
    if (*index != SIZE_MAX)
        return &log->witnesses[*index];
    log->witnesses = make_room(w, log->witnesses, &w->witness_room, log->witness_count, sizeof *log->witnesses);
    if (w->status != WH_OK)
        return NULL;
    *index = log->witness_count;
    if (!wh_name_index_add(&w->names, event->heard.sensor, *index)) {
        w->status = WH_ERR_MEMORY;
        return NULL;
    }
    wh_witness *made = &log->witnesses[log->witness_count++];
    *made = (wh_witness){.sensor = event->heard.sensor,
                         .best_dbfs = -INFINITY,
                         .nearest_dbfs = -INFINITY,
                         .first_level = SIZE_MAX,
                         .last_answer = SIZE_MAX};
    return made;
}

static void add_level(walk *w, wh_witness *witness, const wh_heard *heard)
{
    wh_walk_log *log = w->log;
    size_t i = witness->first_level;
    while (i != SIZE_MAX && log->levels[i].place != (unsigned)w->place)
        i = log->levels[i].next;
    if (i == SIZE_MAX) {
        log->levels = make_room(w, log->levels, &w->level_room, log->level_count, sizeof *log->levels);
        if (w->status != WH_OK)
            return;
        i = log->level_count++;
        log->levels[i] =
            (wh_log_level){.place = (unsigned)w->place, .most_dbfs = -INFINITY, .next = witness->first_level};
        witness->first_level = i;
    }
    wh_log_level *level = &log->levels[i];
    level->readings++;
    level->sum_dbfs += heard->level_dbfs;
    level->most_dbfs = fmax(level->most_dbfs, heard->level_dbfs);
    level->confidence = fmax(level->confidence, heard->confidence);
}

static void add_answers(walk *w, size_t index, int64_t at_us, bool heard_before, int64_t before_us)
{
    wh_walk_log *log = w->log;
    /* Trials begin in order of time and last seconds to minutes: those that are still on are among the last few. */
    const size_t first = log->trial_count > 4 ? log->trial_count - 4 : 0;
    for (size_t t = first; t < log->trial_count; t++) {
        const wh_log_trial *trial = &log->trials[t];
        const bool merely_standing = t == w->quiet_trial && at_us >= trial->begin_us;
        if (!merely_standing && (!trial->woken || at_us < trial->begin_us || at_us > trial->end_us))
            continue;
        size_t a = log->witnesses[index].last_answer;
        while (a != SIZE_MAX && log->answers[a].trial != t && log->answers[a].trial >= first)
            a = log->answers[a].before;
        if (a != SIZE_MAX && log->answers[a].trial == t)
            continue;
        log->answers = make_room(w, log->answers, &w->answer_room, log->answer_count, sizeof *log->answers);
        if (w->status != WH_OK)
            return;
        const bool sent_before =
            heard_before && before_us < trial->begin_us && (double)before_us >= (double)trial->begin_us - BEFORE_US;
        log->answers[log->answer_count] = (wh_log_answer){index, t, sent_before, log->witnesses[index].last_answer};
        log->witnesses[index].last_answer = log->answer_count++;
    }
}

static void heard(walk *w, const wh_event *event)
{
    size_t index;
    if (event->heard.sensor[0] == '\0')
        return;
    wh_witness *witness = witness_of(w, event, &index);
    if (!witness)
        return;
    const bool before = witness->readings > 0;
    const int64_t before_us = witness->last_us;
    const double confidence = fmin(fmax(event->heard.confidence, 0.0), 1.0);
    if (!before || event->at_us < before_us || (double)event->at_us - (double)before_us > SENDING_US)
        witness->sendings++;
    witness->readings++;
    witness->latest = event;
    witness->last_us = event->at_us;
    witness->exists = 1.0 - (1.0 - witness->exists) * (1.0 - confidence);
    begin_quiet_trial(w, event->at_us);
    add_answers(w, index, event->at_us, before, before_us);
    if (!isfinite(event->heard.level_dbfs))
        return;
    witness->best_dbfs = fmax(witness->best_dbfs, event->heard.level_dbfs);
    if (!w->standing || w->place < 0)
        return;
    if (w->seat >= 0 && event->heard.level_dbfs > witness->nearest_dbfs) {
        witness->nearest_dbfs = event->heard.level_dbfs;
        witness->nearest = w->log->unit->wheels[w->seat].position;
    }
    add_level(w, witness, &event->heard);
}

static void unknown(walk *w, const wh_event *event)
{
    wh_walk_log *log = w->log;
    if (w->seat < 0 || !isfinite(event->heard.level_dbfs))
        return;
    log->unknowns = make_room(w, log->unknowns, &w->unknown_room, log->unknown_count, sizeof *log->unknowns);
    if (w->status == WH_OK)
        log->unknowns[log->unknown_count++] = (wh_log_unknown){w->seat, event->heard.level_dbfs};
}

/* One seat has one sensor and one sensor one seat: what was said last holds. */
static void bind(walk *w, const wh_event *event)
{
    wh_walk_log *log = w->log;
    const int seat = wh_walk_log_seat_at(log->unit, event->position);
    if (strcmp(event->unit, log->unit->name) != 0) {
        for (unsigned i = 0; i < log->unit->wheel_count && event->kind == WH_EVENT_BIND; i++)
            if (log->seats[i].bind && strcmp(log->seats[i].bind->heard.sensor, event->heard.sensor) == 0)
                log->seats[i].bind = NULL;
        return;
    }
    if (seat < 0)
        return;
    log->seats[seat].bind = NULL;
    if (event->kind == WH_EVENT_UNBIND || event->heard.sensor[0] == '\0')
        return;
    for (unsigned i = 0; i < log->unit->wheel_count; i++)
        if (log->seats[i].bind && strcmp(log->seats[i].bind->heard.sensor, event->heard.sensor) == 0)
            log->seats[i].bind = NULL;
    log->seats[seat].bind = event;
}

static void take(walk *w, const wh_event *event, bool counts)
{
    pass_time(w, event, counts);
    switch (event->kind) {
    case WH_EVENT_LISTEN: w->listening = true; break;
    case WH_EVENT_GAP: w->listening = false; break;
    case WH_EVENT_STAND: stand(w, event, counts); break;
    case WH_EVENT_LEAVE:
    case WH_EVENT_END: leave(w); break;
    case WH_EVENT_WOKEN:
        if (counts)
            woken(w, event);
        break;
    case WH_EVENT_HEARD:
        if (counts)
            heard(w, event);
        break;
    case WH_EVENT_UNKNOWN:
        if (counts)
            unknown(w, event);
        break;
    case WH_EVENT_BIND:
    case WH_EVENT_UNBIND:
        if (counts)
            bind(w, event);
        break;
    case WH_EVENT_REPAIRED:
    case WH_EVENT_KIND_COUNT: break;
    }
}

/* A list without any LISTEN, or with a GAP before it, began while the receiver listened. */
static bool listens_from_the_start(const wh_sweep *sweep)
{
    for (size_t i = 0; i < sweep->event_count; i++)
        if (sweep->events[i].kind == WH_EVENT_LISTEN || sweep->events[i].kind == WH_EVENT_GAP)
            return sweep->events[i].kind == WH_EVENT_GAP;
    return true;
}

static bool comes_late(const wh_event *event)
{
    return event->kind == WH_EVENT_HEARD || event->kind == WH_EVENT_UNKNOWN;
}

/* The events in the order in which they happened. What was heard is known only when its copies are over: by then he may have
 * walked on, or have marked a repair. Where it was heard is told by when it was. *order has sweep->event_count places. */
static void order_by_time(const wh_sweep *sweep, const wh_event **order)
{
    for (size_t i = 0; i < sweep->event_count; i++) {
        const wh_event *event = &sweep->events[i];
        size_t place = i;
        while (place > 0 && comes_late(event) && order[place - 1]->at_us > event->at_us &&
               order[place - 1]->at_us <= later(event->at_us, LATE_US) && order[place - 1]->kind != WH_EVENT_LISTEN) {
            order[place] = order[place - 1];
            place--;
        }
        order[place] = event;
    }
}

wh_status wh_walk_log_make(wh_walk_log *log, const wh_unit *unit, const wh_sweep *sweep, int64_t after_id)
{
    *log = (wh_walk_log){.unit = unit};
    walk w = {.log = log, .listening = listens_from_the_start(sweep)};
    const wh_event **order = malloc((sweep->event_count + 1) * sizeof *order);
    if (!order)
        return WH_ERR_MEMORY;
    order_by_time(sweep, order);
    leave(&w);
    /* What was heard before the mark and told after it counts as before: it says nothing of the repair. */
    bool marked = true;
    for (size_t i = 0; i < sweep->event_count && marked; i++)
        marked = sweep->events[i].id != after_id || after_id == 0;
    for (size_t i = 0; i < sweep->event_count && w.status == WH_OK; i++) {
        const wh_event *event = order[i];
        marked = marked || event->id == 0 || (event->id >= after_id && !comes_late(event));
        take(&w, event, event->id == 0 || (event->id > after_id && marked));
    }
    free(order);
    wh_name_index_free(&w.names);
    return w.status;
}

void wh_walk_log_free(wh_walk_log *log)
{
    free(log->places);
    free(log->witnesses);
    free(log->levels);
    free(log->trials);
    free(log->answers);
    free(log->unknowns);
    *log = (wh_walk_log){0};
}
