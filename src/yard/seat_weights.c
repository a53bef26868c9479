#include "seat_weights.h"

#include "name_index.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* -- What is taken for likely before anything is heard. All of it common practice without a source; see DEVELOPERS.md. -- */

/* At a wheel: its recorded sensor 1 (by definition), a sensor on no record, one of another unit's. */
#define NEW_SHARE       0.50 /* ... of the share of wheels visited whose recorded sensor is not heard, within */
#define NEW_LEAST       0.08
#define NEW_WITHOUT_ONE 0.80 /* ... where none is on record */
#define OTHER_UNITS     0.03
/* Two wheels have each other's sensors, or the record says so by mistake: of a dual pair, and of all other pairs together. */
#define PAIR_CROSSED   0.03
#define OTHERS_CROSSED 0.10
#define MOST_CROSSED   0.15
/* A recorded sensor that is heard, but from elsewhere: on the rack, on the next unit. */
#define RECORDED_GONE 0.05
/* Nothing is heard of a wheel although its sensor would be there; by what was done to hear it. */
#define EMPTY_HEARD       0.10 /* its recorded sensor is heard: another, dead or none there */
#define EMPTY_NOT_VISITED 0.70
#define EMPTY_VISITED     0.35
#define EMPTY_WOKEN       0.20

/* -- Answers -- */

/* The wheel's sensor answers while somebody is at it: told that it was woken, or merely standing there. */
#define ANSWERS_WOKEN 0.80
#define ANSWERS_QUIET 0.40 /* before this walk is looked at ... */
#define QUIET_STANDS  3.0  /* ... and worth so many stands */
#define QUIET_LEAST   0.03
/* The exciter reaches the other wheel of the pair as well. */
#define REACHES_MATE 0.30
/* A sensor that is sending anyway: chance that it does so within seconds when it did within the last 70. */
#define GOES_ON_CHANCE 0.50
/* A sensor of which nothing is known sends by itself once in this time. */
#define BY_ITSELF_S 100.0

typedef struct record {
    int seat;         /* on record at this wheel; WH_LOG_NOWHERE */
    bool other_units; /* on record for another unit */
} record;

/* One pass over the whole roster. */
static wh_status find_records(const wh_roster *roster, const wh_walk_log *walk, record *records)
{
    wh_name_index names = {0};
    wh_status status = WH_OK;
    for (size_t i = 0; i < walk->witness_count && status == WH_OK; i++) {
        records[i] = (record){.seat = WH_LOG_NOWHERE};
        if (!wh_name_index_add(&names, walk->witnesses[i].sensor, i))
            status = WH_ERR_MEMORY;
    }
    const size_t units = walk->witness_count > 0 ? wh_roster_count(roster) : 0;
    for (size_t u = 0; u < units && status == WH_OK; u++) {
        const wh_unit *unit = wh_roster_at(roster, u);
        const bool own = strcmp(unit->name, walk->unit->name) == 0;
        for (unsigned w = 0; w < unit->wheel_count; w++) {
            const size_t i = wh_name_index_find(&names, unit->wheels[w].sensor);
            if (i == SIZE_MAX)
                continue;
            if (!own)
                records[i].other_units = true;
            else if (records[i].seat < 0)
                records[i].seat = (int)w;
        }
    }
    wh_name_index_free(&names);
    return status;
}

static bool are_mates(const wh_unit *unit, unsigned a, unsigned b)
{
    const wh_position p = unit->wheels[a].position, q = unit->wheels[b].position;
    return a != b && p.axle == q.axle && p.side == q.side;
}

/* Natural logarithm of a wheel's share in a crossing: both wheels' together give the chance of that crossing. */
static double log_crossed(const wh_unit *unit, unsigned a, unsigned b)
{
    if (are_mates(unit, a, b))
        return 0.5 * log(PAIR_CROSSED);
    const double pairs = 0.5 * unit->wheel_count * (unit->wheel_count - 1.0);
    return 0.5 * log(fmin(OTHERS_CROSSED / pairs, MOST_CROSSED * MOST_CROSSED));
}

/* -- Answers to trials -- */

static double trial_s(const wh_log_trial *trial)
{
    return ((double)trial->end_us - (double)trial->begin_us) * 1e-6;
}

/* Probability that the wheel's sensor answers in a trial; `quiet`: where nobody said that it was woken. */
static double answers(const wh_log_trial *trial, double quiet)
{
    /* Nobody wakes a sensor within a second or two of arriving. */
    return trial->woken ? ANSWERS_WOKEN : trial_s(trial) < 2.0 ? 0.1 * quiet : quiet;
}

/* Chance that this sensor would have been heard in the trial whatever was done. */
static double by_chance(const wh_walk_log *walk, const wh_witness *witness, const wh_log_trial *trial, bool sent_before)
{
    if (sent_before)
        return GOES_ON_CHANCE;
    const double others = witness->sendings > 1 ? witness->sendings - 1.0 : 0.0;
    const double rate = fmax((others + 0.5) / (walk->listened_s + BY_ITSELF_S), 1.0 / BY_ITSELF_S);
    return fmin(1.0 - exp(-rate * fmax(trial_s(trial), 2.0)), 0.9);
}

/* log of P(this is heard | woken with probability u) / P(... | chance only). */
static double log_answered(double u, double chance)
{
    return log((1.0 - (1.0 - u) * (1.0 - chance)) / chance);
}

/* Add to the logarithms of every seat, and of every site elsewhere that was stood at, what the trials say. `seats` begins with
 * silence at every trial; an answer takes the silence back and adds what it says. */
static void add_answers(const wh_walk_log *walk, const wh_level_model *model, const wh_witness *witness, double quiet,
                        double *sites)
{
    for (size_t a = witness->last_answer; a != SIZE_MAX; a = walk->answers[a].before) {
        const wh_log_trial *trial = &walk->trials[walk->answers[a].trial];
        if (trial_s(trial) <= 0.0)
            continue;
        const double u = answers(trial, quiet);
        const double chance = by_chance(walk, witness, trial, walk->answers[a].sent_before);
        if (trial->seat < 0) {
            for (unsigned i = model->seat_count; i < model->site_count; i++)
                if (model->sites[i].other_place == (int)trial->place)
                    sites[i] += log_answered(u, chance) - log1p(-u);
            continue;
        }
        const unsigned seat = (unsigned)trial->seat;
        sites[seat] += log_answered(u, chance) - log1p(-u);
        for (unsigned p = 0; p < model->seat_count; p++)
            if (are_mates(walk->unit, seat, p))
                sites[p] += log_answered(REACHES_MATE * u, chance) - log1p(-REACHES_MATE * u);
    }
}

static void silence(const wh_walk_log *walk, const wh_level_model *model, double quiet, double *sites)
{
    for (unsigned i = 0; i < model->site_count; i++)
        sites[i] = 0.0;
    for (size_t t = 0; t < walk->trial_count; t++) {
        const wh_log_trial *trial = &walk->trials[t];
        if (trial_s(trial) <= 0.0)
            continue;
        const double u = answers(trial, quiet);
        for (unsigned p = 0; p < model->seat_count && trial->seat >= 0; p++) {
            if (p == (unsigned)trial->seat)
                sites[p] += log1p(-u);
            else if (are_mates(walk->unit, (unsigned)trial->seat, p))
                sites[p] += log1p(-REACHES_MATE * u);
        }
        for (unsigned i = model->seat_count; i < model->site_count && trial->seat < 0; i++)
            if (model->sites[i].other_place == (int)trial->place)
                sites[i] += log1p(-u);
    }
    /* Silence counts little: sensors miss the exciter, and what is tried ten times in vain was not tried well. */
    for (unsigned i = 0; i < model->site_count; i++)
        sites[i] = fmax(sites[i], -2.5);
}

/* -- All together -- */

typedef struct maker {
    wh_seat_weights *weights;
    const wh_walk_log *walk;
    wh_level_model *model;
    record *records;              /* by witness */
    double quiet;                 /* probability that a sensor answers when somebody merely stands at its wheel */
    double new_sensor;            /* probability that a wheel with a sensor on record has one that is on no record */
    double strangers;             /* expected number of sensors that are on no record and not at this unit */
    double *silent, *sites, *fit; /* by site */
} maker;

/* The record's share of the weight of a pair, against "elsewhere". */
static double log_record(const maker *m, size_t index, unsigned seat)
{
    const record *known = &m->records[index];
    const wh_unit *unit = m->walk->unit;
    if (known->seat >= 0) {
        const double here = known->seat == (int)seat ? 0.0 : log_crossed(unit, (unsigned)known->seat, seat);
        return here - log(RECORDED_GONE);
    }
    if (known->other_units)
        return log(OTHER_UNITS);
    const bool on_record = unit->wheels[seat].sensor[0] != '\0';
    return log((on_record ? m->new_sensor : NEW_WITHOUT_ONE) / m->strangers);
}

static bool answered(const wh_walk_log *walk, const wh_witness *witness, size_t trial, bool *sent_before)
{
    size_t a = witness->last_answer;
    while (a != SIZE_MAX && walk->answers[a].trial != trial)
        a = walk->answers[a].before;
    *sent_before = a != SIZE_MAX && walk->answers[a].sent_before;
    return a != SIZE_MAX;
}

/* Some wake each sensor and do not say so, some only walk past. Which it is shows in how many of the recorded sensors that were
 * heard at all were heard at their wheel, A of N stands, against the sum C of their chances to be heard there anyway:
 *     u = (A - C + n u0) / (N - C + n), with u0 worth n stands. */
static void learn_quiet(maker *m)
{
    const wh_walk_log *walk = m->walk;
    double heard = QUIET_STANDS * ANSWERS_QUIET, stands = QUIET_STANDS;
    for (size_t i = 0; i < walk->witness_count; i++) {
        for (size_t t = 0; t < walk->trial_count && m->records[i].seat >= 0; t++) {
            const wh_log_trial *trial = &walk->trials[t];
            if (trial->seat != m->records[i].seat || trial->woken || trial_s(trial) <= 2.0)
                continue;
            bool sent_before;
            heard += answered(walk, &walk->witnesses[i], t, &sent_before);
            const double chance = by_chance(walk, &walk->witnesses[i], trial, sent_before);
            heard -= chance;
            stands += 1.0 - chance;
        }
    }
    m->quiet = fmin(fmax(heard / stands, QUIET_LEAST), ANSWERS_WOKEN);
}

static void answers_of(const maker *m, size_t index, double *sites)
{
    memcpy(sites, m->silent, m->model->site_count * sizeof *sites);
    add_answers(m->walk, m->model, &m->walk->witnesses[index], m->quiet, sites);
}

static void weigh_heard(maker *m, size_t index)
{
    const wh_level_model *model = m->model;
    answers_of(m, index, m->sites);
    wh_level_model_fits(model, m->walk, &m->walk->witnesses[index], m->fit);
    double elsewhere = 1e-300;
    for (unsigned i = model->seat_count; i < model->site_count; i++)
        elsewhere += model->sites[i].share * m->fit[i] * exp(m->sites[i]);
    for (unsigned p = 0; p < model->seat_count; p++)
        m->weights->heard[index * model->seat_count + p] = m->sites[p] + log(m->fit[p] + 1e-300) - log(elsewhere);
}

/* wh_site_shares: by answers and the record. */
static void share_out(void *context, size_t index, double *share)
{
    maker *m = context;
    const wh_level_model *model = m->model;
    answers_of(m, index, m->sites);
    double sum = 0.0;
    for (unsigned i = 0; i < model->site_count; i++) {
        share[i] = exp(m->sites[i]) * (i < model->seat_count ? exp(log_record(m, index, i)) : model->sites[i].share);
        sum += share[i];
    }
    for (unsigned i = 0; i < model->site_count; i++)
        share[i] /= sum;
}

static void weigh_empty(maker *m)
{
    const wh_walk_log *walk = m->walk;
    bool heard[WH_WHEELS_MAX] = {false};
    for (size_t i = 0; i < walk->witness_count; i++)
        if (m->records[i].seat >= 0)
            heard[m->records[i].seat] = true;
    unsigned vacant = 0, visited = 0, unrecorded = 0;
    for (unsigned p = 0; p < walk->unit->wheel_count; p++) {
        const wh_log_seat *seat = &walk->seats[p];
        m->weights->log_empty[p] = log(heard[p]        ? EMPTY_HEARD
                                       : seat->woken   ? EMPTY_WOKEN
                                       : seat->visited ? EMPTY_VISITED
                                                       : EMPTY_NOT_VISITED);
        vacant += !heard[p] && seat->visited;
        visited += seat->visited;
    }
    for (size_t i = 0; i < walk->witness_count; i++)
        unrecorded += m->records[i].seat < 0 && !m->records[i].other_units;
    /* A record that fits nowhere is an old one: then new sensors are the rule. */
    m->new_sensor = fmax(NEW_SHARE * (vacant + 0.2) / (visited + 1.0), NEW_LEAST);
    m->strangers = 0.5 + (unrecorded > vacant ? unrecorded - vacant : 0.0);
}

static wh_status weigh_all(maker *m, const wh_roster *roster)
{
    const wh_walk_log *walk = m->walk;
    const unsigned seats = m->model->seat_count;
    const wh_status status = find_records(roster, walk, m->records);
    if (status != WH_OK)
        return status;
    weigh_empty(m);
    learn_quiet(m);
    silence(walk, m->model, m->quiet, m->silent);
    wh_level_model_fit(m->model, walk, share_out, m, m->fit);
    for (size_t i = 0; i < walk->witness_count; i++) {
        weigh_heard(m, i);
        const double exists = log(walk->witnesses[i].exists + 1e-6);
        for (unsigned p = 0; p < seats; p++)
            m->weights->all[i * seats + p] = m->weights->heard[i * seats + p] + log_record(m, i, p) + exists;
    }
    return WH_OK;
}

wh_status wh_seat_weights_make(wh_seat_weights *weights, const wh_roster *roster, const wh_walk_log *walk,
                               wh_level_model *model)
{
    const size_t cells = walk->witness_count * model->seat_count + 1;
    *weights = (wh_seat_weights){.seat_count = model->seat_count,
                                 .witness_count = walk->witness_count,
                                 .heard = malloc(cells * sizeof *weights->heard),
                                 .all = malloc(cells * sizeof *weights->all)};
    maker m = {.weights = weights,
               .walk = walk,
               .model = model,
               .records = calloc(walk->witness_count + 1, sizeof *m.records),
               .silent = malloc(3 * model->site_count * sizeof *m.silent)};
    wh_status status = weights->heard && weights->all && m.records && m.silent ? WH_OK : WH_ERR_MEMORY;
    if (status == WH_OK) {
        m.sites = m.silent + model->site_count;
        m.fit = m.sites + model->site_count;
        status = weigh_all(&m, roster);
    }
    free(m.records);
    free(m.silent);
    return status;
}

void wh_seat_weights_free(wh_seat_weights *weights)
{
    free(weights->heard);
    free(weights->all);
    *weights = (wh_seat_weights){0};
}
