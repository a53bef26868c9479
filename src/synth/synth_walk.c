#include "synth_walk.h"

#include "descriptor_model.h"
#include "synth_frame.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The pace of the walk: quick, because every second of it is half a megabyte. */
#define BEGIN_S          0.6  /* the receiver learns the noise first */
#define WAKE_AFTER_S     0.5  /* of standing there */
#define ANSWER_S         0.2  /* ... to twice that after waking */
#define AGAIN_S          2.0  /* wakes again after this */
#define LEAVE_S          1.7  /* goes on this long after the (last) waking */
#define WAY_S            0.3  /* to the next wheel */
#define REST_S           0.4  /* after the last */
#define CARRIER_ERROR_HZ 15e3 /* most; crystals of sensors are off by 35 ppm */
#define VALUES_MOST      12

typedef struct walk {
    const wh_synth_walk_spec *spec;
    wh_scene *scene;
    wh_synth_walk_result *result;
    wh_walk_world *world;
    wh_walk_sensor *sensors; /* of the roles */
    wh_unit *neighbours;     /* layouts of units that are not on the roster */
    unsigned neighbour_count;
    wh_rng rng;
    double *carrier_error_hz; /* of the roles */
    unsigned stands;
    wh_error *error;
} walk;

static wh_status at_row(const walk *w, const wh_walk_role *role, const char *fix, const char *what, const char *value)
{
    return wh_fail(w->error, WH_ERR_DATA, fix, "row %u of the scenario: %s '%s'", role->row, what, value);
}

/* The unit of a role in the world; WH_WALK_UNITS_MAX: none (it passes by). */
static unsigned unit_of(const walk *w, const wh_walk_role *role)
{
    for (unsigned i = 0; i < w->world->unit_count; i++)
        if (strcmp(w->world->units[i].unit->name, role->unit) == 0)
            return i;
    return WH_WALK_UNITS_MAX;
}

/* A vehicle that is not ours: nobody knows its layout, so it has the commonest. */
static const wh_unit *neighbour(walk *w, const char *name)
{
    static const bool dual[] = {true, true};
    wh_unit *unit = &w->neighbours[w->neighbour_count];
    if (wh_unit_make(unit, name, WH_TRAILER, 2, dual, w->error) != WH_OK)
        return NULL;
    w->neighbour_count++;
    return unit;
}

static wh_status make_world(walk *w)
{
    const wh_unit *units[WH_WALK_UNITS_MAX];
    unsigned count = 0;
    for (size_t i = 0; i < w->spec->role_count; i++) {
        const wh_walk_role *role = &w->spec->roles[i];
        bool known = strcmp(role->unit, "passing") == 0;
        for (unsigned k = 0; k < count && !known; k++)
            known = strcmp(units[k]->name, role->unit) == 0;
        if (known)
            continue;
        if (count == WH_WALK_UNITS_MAX)
            return at_row(w, role, "make a scenario for each part of the yard", "too many units at", role->unit);
        const wh_unit *unit = wh_roster_find(w->spec->roster, role->unit);
        if (!unit && !(unit = neighbour(w, role->unit)))
            return w->error->status;
        units[count++] = unit;
    }
    wh_walk_world_make(w->world, &w->spec->air, units, count, w->spec->seed);
    return WH_OK;
}

static wh_status place_sensors(walk *w)
{
    const wh_point afar = {.x = 4.0, .y = 25.0, .z = 0.5};
    for (size_t i = 0; i < w->spec->role_count; i++) {
        const wh_walk_role *role = &w->spec->roles[i];
        const unsigned unit = unit_of(w, role);
        w->carrier_error_hz[i] = CARRIER_ERROR_HZ * (2.0 * wh_rng_uniform(&w->rng) - 1.0);
        if (unit == WH_WALK_UNITS_MAX) {
            wh_walk_sensor_at_point(&w->sensors[i], w->world, afar, (unsigned)i, &w->rng);
            continue;
        }
        char position[WH_POSITION_SIZE];
        if (!wh_unit_wheel_const(w->world->units[unit].unit, role->position))
            return at_row(w, role, "the roster says which wheels a unit has", "the unit has no wheel",
                          wh_position_text(position, role->position));
        wh_walk_sensor_at_wheel(&w->sensors[i], w->world, unit, role->position, (unsigned)i, &w->rng);
    }
    return WH_OK;
}

/* "battery low=yes / status=3" in pieces; `text` is cut up. */
static unsigned split_fields(char *text, wh_synth_value *values, unsigned most)
{
    unsigned count = 0;
    char *rest = text;
    while (rest && *rest && count < most) {
        char *piece = rest, *slash = strstr(rest, " / ");
        rest = slash ? slash + 3 : NULL;
        if (slash)
            *slash = '\0';
        char *equals = strchr(piece, '=');
        if (!equals)
            continue;
        *equals = '\0';
        values[count++] = (wh_synth_value){piece, equals + 1};
    }
    return count;
}

static wh_status make_frame(const walk *w, const wh_walk_role *role, const wh_descriptor *descriptor,
                            wh_frame_bits *frame)
{
    char fields[sizeof role->fields];
    wh_synth_value values[VALUES_MOST];
    unsigned count = 0;
    snprintf(fields, sizeof fields, "%s", role->fields);
    values[count++] = (wh_synth_value){"sensor", role->sensor};
    if (role->pressure[0])
        values[count++] = (wh_synth_value){"pressure", role->pressure};
    if (role->temperature[0])
        values[count++] = (wh_synth_value){"temperature", role->temperature};
    count += split_fields(fields, values + count, VALUES_MOST - count);
    wh_error reason;
    const wh_absolute site = {WH_STANDARD_ATMOSPHERE_KPA};
    if (wh_synth_frame(descriptor, values, count, 0, site, frame, &reason) == WH_OK)
        return WH_OK;
    return at_row(w, role, reason.fix, "this value does not fit:", reason.what);
}

static wh_status note_truth(walk *w, double at_s, size_t role, double level_dbfs)
{
    wh_synth_walk_result *result = w->result;
    const size_t count = result->truth_count;
    if ((count & (count - 1)) == 0) { /* grows by doubling at powers of two */
        wh_walk_truth *more = realloc(result->truth, (count ? 2 * count : 1) * sizeof *more);
        if (!more)
            return wh_fail(w->error, WH_ERR_MEMORY, NULL, "out of memory");
        result->truth = more;
    }
    result->truth[result->truth_count++] = (wh_walk_truth){at_s, role, level_dbfs};
    return WH_OK;
}

static wh_status send(walk *w, size_t i, const wh_walk_antenna *antenna, double at_s)
{
    const wh_synth_walk_spec *spec = w->spec;
    const wh_walk_role *role = &spec->roles[i];
    const wh_descriptor *descriptor = wh_descriptor_set_find(spec->descriptors, role->descriptor);
    if (!descriptor)
        return at_row(w, role, "\"wheelhark descriptor list\" shows all names", "there is no descriptor",
                      role->descriptor);
    const double level = wh_walk_level(w->world, antenna, &w->sensors[i], &w->rng);
    wh_transmission t = {.descriptor = descriptor,
                         .gap_s = -1.0,
                         .start_s = at_s,
                         .amplitude = pow(10.0, level / 20.0),
                         .carrier_hz = descriptor->carriers_hz[0] + w->carrier_error_hz[i] - spec->centre_hz,
                         .edge_s = 0.1 / descriptor->radio.chip_rate_hz};
    const double reach = fabs(t.carrier_hz) + descriptor->radio.deviation_hz + descriptor->radio.chip_rate_hz;
    if (reach > spec->sample_rate_hz / 2.0)
        return at_row(w, role, "choose a higher --sample-rate or another --centre",
                      "outside of the recorded band:", role->descriptor);
    wh_status status = make_frame(w, role, descriptor, &t.frame);
    if (status == WH_OK)
        status = wh_scene_add(w->scene, &t, w->error);
    return status == WH_OK ? note_truth(w, at_s, i, level) : status;
}

static wh_status note_step(walk *w, wh_event_kind action, unsigned unit, wh_position position, double at_s)
{
    wh_synth_walk_result *result = w->result;
    const size_t count = result->step_count;
    if ((count & (count - 1)) == 0) {
        wh_walk_step *more = realloc(result->steps, (count ? 2 * count : 1) * sizeof *more);
        if (!more)
            return wh_fail(w->error, WH_ERR_MEMORY, NULL, "out of memory");
        result->steps = more;
    }
    /* As a person would write it down: to the millisecond. */
    wh_walk_step step = {.offset_s = floor(at_s * 1e3 + 0.5) * 1e-3, .action = action, .position = position};
    snprintf(step.unit, sizeof step.unit, "%s", w->world->units[unit].unit->name);
    result->steps[result->step_count++] = step;
    return WH_OK;
}

/* What sends of its own accord between two instants: each role in its own rhythm. */
static wh_status send_unasked(walk *w, const wh_walk_antenna *antenna, double from_s, double to_s)
{
    for (size_t i = 0; i < w->spec->role_count; i++) {
        const double every = w->spec->roles[i].every_s;
        if (every <= 0.0)
            continue;
        const double phase = every * (0.2 + 0.6 * (double)(i * 37 % 61) / 61.0);
        for (double k = fmax(ceil((from_s - phase) / every), 0.0); phase + k * every < to_s; k += 1.0) {
            const wh_status status = send(w, i, antenna, phase + k * every);
            if (status != WH_OK)
                return status;
        }
    }
    return WH_OK;
}

/* One waking at a wheel; *answered: somebody there did. */
static wh_status wake(walk *w, unsigned unit, wh_position position, const wh_walk_antenna *antenna, unsigned waking,
                      double at_s, bool *answered)
{
    wh_status status = note_step(w, WH_EVENT_WOKEN, unit, position, at_s);
    for (size_t i = 0; status == WH_OK && i < w->spec->role_count; i++) {
        const wh_walk_role *role = &w->spec->roles[i];
        if (unit_of(w, role) != unit || !wh_position_equal(role->position, position) || role->answers != waking)
            continue;
        *answered = true;
        status = send(w, i, antenna, at_s + ANSWER_S * (1.0 + wh_rng_uniform(&w->rng)));
    }
    return status;
}

/* One wheel; *now_s moves on. */
static wh_status visit(walk *w, unsigned unit, wh_position position, double *now_s)
{
    wh_walk_antenna antenna;
    const double begin_s = *now_s;
    bool answered = false;
    double waking_s = begin_s + WAKE_AFTER_S;
    wh_walk_stand(&antenna, w->world, unit, position, w->stands++, &w->rng);
    wh_status status = note_step(w, WH_EVENT_STAND, unit, position, begin_s);
    if (status == WH_OK)
        status = wake(w, unit, position, &antenna, 1, waking_s, &answered);
    if (status == WH_OK && !answered) {
        waking_s += AGAIN_S;
        status = wake(w, unit, position, &antenna, 2, waking_s, &answered);
    }
    *now_s = waking_s + LEAVE_S + WAY_S;
    return status == WH_OK ? send_unasked(w, &antenna, begin_s, *now_s) : status;
}

static bool comes_back(const walk *w, unsigned unit, wh_position position)
{
    for (size_t i = 0; i < w->spec->role_count; i++) {
        const wh_walk_role *role = &w->spec->roles[i];
        if (role->visits > 1 && unit_of(w, role) == unit && wh_position_equal(role->position, position))
            return true;
    }
    return false;
}

static wh_status go_round(walk *w)
{
    double now_s = BEGIN_S;
    wh_status status = WH_OK;
    wh_position last = {0};
    unsigned last_unit = 0;
    for (unsigned u = 0; u < w->world->unit_count; u++) {
        const wh_unit *unit = w->world->units[u].unit;
        if (!wh_roster_find(w->spec->roster, unit->name))
            continue;
        for (unsigned i = 0; status == WH_OK && i < 2 * unit->wheel_count; i++) {
            const wh_position here = unit->wheels[i % unit->wheel_count].position;
            if (i >= unit->wheel_count && !comes_back(w, u, here))
                continue;
            last = here;
            last_unit = u;
            status = visit(w, u, last, &now_s);
        }
    }
    if (status == WH_OK && last.axle == 0)
        return wh_fail(w->error, WH_ERR_DATA, "name at least one unit of the roster", "nobody's wheels to walk round");
    if (status == WH_OK)
        status = note_step(w, WH_EVENT_LEAVE, last_unit, last, now_s);
    w->result->duration_s = now_s + REST_S;
    return status;
}

static int by_time(const void *a, const void *b)
{
    const wh_walk_truth *x = a, *y = b;
    if (x->offset_s != y->offset_s)
        return x->offset_s < y->offset_s ? -1 : 1;
    return (x->role > y->role) - (x->role < y->role);
}

wh_status wh_synth_walk(const wh_synth_walk_spec *spec, wh_scene *scene, wh_synth_walk_result *result, wh_error *error)
{
    *result = (wh_synth_walk_result){0};
    walk w = {.spec = spec, .scene = scene, .result = result, .error = error};
    w.world = calloc(1, sizeof *w.world);
    w.sensors = calloc(spec->role_count + 1, sizeof *w.sensors);
    w.neighbours = calloc(WH_WALK_UNITS_MAX, sizeof *w.neighbours);
    w.carrier_error_hz = calloc(spec->role_count + 1, sizeof *w.carrier_error_hz);
    wh_rng_seed(&w.rng, spec->seed);
    wh_status status = w.world && w.sensors && w.neighbours && w.carrier_error_hz
                           ? WH_OK
                           : wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (status == WH_OK)
        status = make_world(&w);
    if (status == WH_OK)
        status = place_sensors(&w);
    if (status == WH_OK)
        status = go_round(&w);
    if (status == WH_OK && result->truth_count > 1)
        qsort(result->truth, result->truth_count, sizeof *result->truth, by_time);
    free(w.carrier_error_hz);
    free(w.neighbours);
    free(w.sensors);
    free(w.world);
    return status;
}

void wh_synth_walk_free(wh_synth_walk_result *result)
{
    free(result->steps);
    free(result->truth);
    *result = (wh_synth_walk_result){0};
}
