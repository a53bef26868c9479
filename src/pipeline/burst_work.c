#include "burst_work.h"

#include "winners.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TAKEN_CONFIDENCE  0.9
#define SURE_CONFIDENCE   0.999
#define LIKELY_CONFIDENCE 0.5
/* Radios with less than this share of the likeliest one's likeness are not tried, unless it is plain by itself: of two
 * transmitters at once one may be much likelier. tests/unit/demod/test_likeness.c searches for bursts whose own radio
 * has less. */
#define UNLIKE      0.07
#define UNLIKE_MOST 6.0
/* In what is left once something was taken out: less is no transmitter, and no more are tried. Of 200
 * radios the right one is among the first 16 in 99 of 100 bursts, frequency-shift keyed ones from 6 dB on, on-off keyed
 * ones from 10 dB on. */
#define UNLIKE_BENEATH   4.0
#define BENEATH_MOST     24
#define UNSORTED_MOST    6  /* radios left: fewer are tried as quickly as they are weighed */
#define SOFT_LEAST_KNOWN 16 /* chips of a known beginning that make a place worth merging */
#define ROUNDS_MOST      3  /* transmitters of unlike strength told apart within one burst's band */

/* Furthest a descriptor got with the burst. */
typedef struct advance {
    const wh_descriptor *descriptor; /* NULL: not tried */
    wh_stage stage;
    wh_reason reason;
    char detail[160];
} advance;

/* A radio's turn. */
typedef struct turn {
    size_t radio;
    double likeness;
    bool excluded; /* by the demodulator at first sight, or far less like the burst than another */
} turn;

struct wh_burst_worker {
    const wh_catalog *catalog;
    wh_demod *demod;
    wh_candidate_list list;
    /* the burst under work */
    wh_burst_job *job;
    const wh_catalog_radio *radio;
    const wh_catalog_framing *framing;
    const wh_chips *chips;
    double tries;
    unsigned round;    /* how often the burst was looked past */
    bool understood;   /* a frame of the emission at hand was taken, ... */
    bool sure;         /* ... and beyond doubt */
    advance *furthest; /* [descriptor_count], in catalog order: for --explain and the burst's own reason */
    turn *turns;       /* [radio_count], likeliest first */
};

wh_burst_job *wh_burst_job_create(size_t sample_capacity)
{
    wh_burst_job *job = calloc(1, sizeof *job);
    if (!job)
        return NULL;
    job->samples = malloc((sample_capacity ? sample_capacity : 1) * sizeof *job->samples);
    if (!job->samples)
        wh_burst_job_destroy(&job);
    return job;
}

void wh_burst_job_destroy(wh_burst_job **job)
{
    if (!job || !*job)
        return;
    free((*job)->samples);
    free((*job)->attempts);
    free(*job);
    *job = NULL;
}

wh_burst_worker *wh_burst_worker_create(const wh_catalog *catalog)
{
    wh_burst_worker *worker = calloc(1, sizeof *worker);
    if (!worker)
        return NULL;
    worker->catalog = catalog;
    worker->demod = wh_demod_create();
    worker->furthest = calloc(catalog->descriptor_count + 1, sizeof *worker->furthest);
    worker->turns = calloc(catalog->radio_count + 1, sizeof *worker->turns);
    if (!worker->demod || !worker->furthest || !worker->turns)
        wh_burst_worker_destroy(&worker);
    return worker;
}

void wh_burst_worker_destroy(wh_burst_worker **worker)
{
    if (!worker || !*worker)
        return;
    wh_demod_destroy(&(*worker)->demod);
    wh_candidate_list_free(&(*worker)->list);
    free((*worker)->furthest);
    free((*worker)->turns);
    free(*worker);
    *worker = NULL;
}

/* Keep the furthest a descriptor of the framing got with this burst. */
static void note(wh_burst_worker *worker, const wh_catalog_framing *framing, size_t which, wh_stage stage,
                 wh_reason reason, const char *detail)
{
    advance *attempt = &worker->furthest[framing->first + which];
    if (attempt->descriptor &&
        (attempt->reason == WH_REASON_DECODED || (reason != WH_REASON_DECODED && stage <= attempt->stage)))
        return;
    attempt->descriptor = framing->descriptors[which];
    attempt->stage = stage;
    attempt->reason = reason;
    snprintf(attempt->detail, sizeof attempt->detail, "%s", detail);
}

static void note_framing(wh_burst_worker *worker, const wh_catalog_framing *framing, wh_stage stage, wh_reason reason,
                         const char *detail)
{
    for (size_t i = 0; i < framing->descriptor_count; i++)
        note(worker, framing, i, stage, reason, detail);
}

static void note_radio(wh_burst_worker *worker, wh_stage stage, wh_reason reason, const char *detail)
{
    for (size_t i = 0; i < worker->radio->framing_count; i++)
        note_framing(worker, &worker->radio->framings[i], stage, reason, detail);
}

double wh_carrier_excess(const wh_burst_job *job, const wh_descriptor *descriptor, double carrier_hz)
{
    if (!job->centre_known || descriptor->carrier_count == 0)
        return 0.0;
    double nearest = INFINITY;
    for (unsigned i = 0; i < descriptor->carrier_count; i++)
        nearest = fmin(nearest, fabs(carrier_hz - descriptor->carriers_hz[i]));
    return fmax(0.0, nearest - descriptor->carrier_tolerance_hz);
}

static void place_in_time(const wh_burst_worker *worker, const wh_frame_try *found, double *start_s, double *end_s)
{
    const wh_chips *chips = worker->chips;
    const double origin = worker->job->first_s + chips->start_s;
    *start_s = origin + (double)found->first_chip * chips->chip_s;
    *end_s = origin + (double)(found->end_chip + found->end_chips) * chips->chip_s;
    /* The frame starts where the emission does, when that is no more than a whole frame before its end: the known part of the
     * preamble may be shorter than what is sent. */
    const double emission_s = origin + (double)chips->first * chips->chip_s;
    const double longest_s = 1.02 * (double)worker->framing->framing.longest_chips * chips->chip_s;
    if (found->first_chip <= chips->first + worker->framing->framing.longest_chips)
        *start_s = fmin(*start_s, fmax(emission_s, *end_s - longest_s));
}

/* Keep a frame for merging, best syncs first when there are too many. What was accepted beyond doubt needs no merging. */
static void keep_soft(wh_burst_worker *worker, const wh_frame_try *found, bool accepted)
{
    wh_burst_job *job = worker->job;
    if (found->known_chips < SOFT_LEAST_KNOWN || (accepted && !wh_bits_in_doubt(found->soft, found->bits)))
        return;
    wh_soft_frame soft = {.framing = worker->framing, .found = *found, .tries = worker->tries, .accepted = accepted};
    place_in_time(worker, found, &soft.start_s, &soft.end_s);
    soft.carrier_hz = job->centre_hz + worker->chips->carrier_hz;
    soft.carrier_slack_hz = 0.5 * worker->radio->radio.chip_rate_hz;
    soft.snr_db = worker->chips->snr_db;
    soft.level_dbfs = 20.0 * log10(fmax((double)worker->chips->amplitude, 1e-7));
    size_t worst = job->soft_count;
    if (job->soft_count < WH_SOFT_FRAMES_MAX) {
        job->soft_count++;
    } else {
        worst = 0;
        for (size_t i = 1; i < job->soft_count; i++)
            if (job->soft[i].found.sync_score < job->soft[worst].found.sync_score)
                worst = i;
        if (job->soft[worst].found.sync_score >= found->sync_score)
            return;
    }
    job->soft[worst] = soft;
}

static int soft_by_time(const void *a, const void *b)
{
    const wh_soft_frame *x = a, *y = b;
    if (x->start_s != y->start_s)
        return x->start_s < y->start_s ? -1 : 1;
    return (x->found.sync_score < y->found.sync_score) - (x->found.sync_score > y->found.sync_score);
}

/* Only what no winner covers, and of overlapping ones of one layout the best sync, is worth merging. */
static void sort_out_soft(wh_burst_job *job)
{
    size_t kept = 0;
    for (size_t i = 0; i < job->soft_count; i++) {
        const wh_soft_frame *soft = &job->soft[i];
        bool wanted = true;
        for (size_t w = 0; w < job->winner_count && !soft->accepted; w++)
            wanted = wanted && (job->winners[w].end_s <= soft->start_s || soft->end_s <= job->winners[w].start_s);
        for (size_t j = 0; j < job->soft_count; j++) {
            const wh_soft_frame *other = &job->soft[j];
            const bool overlap = other->start_s < soft->end_s && soft->start_s < other->end_s;
            const bool better = other->accepted > soft->accepted || other->found.sync_score > soft->found.sync_score ||
                                (other->found.sync_score == soft->found.sync_score && j < i);
            wanted = wanted && !(j != i && other->framing == soft->framing && overlap && better);
        }
        job->soft_wanted[i] = wanted;
    }
    for (size_t i = 0; i < job->soft_count; i++)
        if (job->soft_wanted[i])
            job->soft[kept++] = job->soft[i];
    job->soft_count = kept;
    qsort(job->soft, kept, sizeof job->soft[0], soft_by_time);
}

static bool accept_try(void *context, const wh_frame_try *found)
{
    wh_burst_worker *worker = context;
    const wh_burst_job *job = worker->job;
    const wh_chips *chips = worker->chips;
    bool matched = false, taken = false;
    for (size_t i = 0; i < worker->framing->descriptor_count; i++) {
        const wh_descriptor *descriptor = worker->framing->descriptors[i];
        wh_candidate candidate;
        char detail[160] = "";
        const wh_reason reason = wh_match(descriptor, found, &candidate, detail);
        worker->tries += candidate.patterns;
        if (reason != WH_REASON_DECODED) {
            note(worker, worker->framing, i, WH_STAGE_PROTOCOL, reason, detail);
            continue;
        }
        place_in_time(worker, found, &candidate.start_s, &candidate.end_s);
        candidate.carrier_hz = job->centre_hz + chips->carrier_hz;
        candidate.beneath = worker->round;
        candidate.snr_db = chips->snr_db;
        candidate.level_dbfs = 20.0 * log10(fmax((double)chips->amplitude, 1e-7));
        candidate.evidence.carrier_excess_hz = wh_carrier_excess(job, descriptor, candidate.carrier_hz);
        wh_candidate_list_add(&worker->list, &candidate);
        note(worker, worker->framing, i, WH_STAGE_READING, WH_REASON_DECODED, "");
        matched = true;
        /* A frame that only luck and repair made whole must not keep better places from being tried. */
        candidate.evidence.tries = worker->tries;
        const double confidence = wh_confidence(&candidate.evidence);
        taken = taken || confidence >= TAKEN_CONFIDENCE;
        worker->sure = worker->sure || confidence >= SURE_CONFIDENCE;
    }
    keep_soft(worker, found, matched);
    worker->understood |= taken;
    return taken;
}

static void explain_outcome(wh_burst_worker *worker, const wh_frame_outcome *outcome)
{
    const wh_chips *chips = worker->chips;
    char detail[160];
    const double at_s = worker->job->first_s + chips->start_s + (double)chips->first * chips->chip_s;
    switch (outcome->verdict) {
    case WH_FRAME_NO_SYNC:
        snprintf(detail, sizeof detail, "best sync match %.2f of %.2f needed, emission at %.4f s, %zu chips, %.1f dB",
                 (double)outcome->best_sync, (double)outcome->needed_sync, at_s, chips->last - chips->first,
                 chips->snr_db);
        note_framing(worker, worker->framing, WH_STAGE_FRAME, WH_REASON_NO_SYNC, detail);
        break;
    case WH_FRAME_CUT_SHORT:
        snprintf(detail, sizeof detail, "sync match %.2f, but the emission at %.4f s ends before the frame does",
                 (double)outcome->best_sync, at_s);
        note_framing(worker, worker->framing, WH_STAGE_FRAME, WH_REASON_CUT_SHORT, detail);
        break;
    case WH_FRAME_VIOLATIONS:
        snprintf(detail, sizeof detail, "sync match %.2f, line code contradicted by %.0f %%",
                 (double)outcome->best_sync, 100.0 * (double)outcome->best_mismatch);
        note_framing(worker, worker->framing, WH_STAGE_LINE, WH_REASON_LINE_VIOLATIONS, detail);
        break;
    case WH_FRAME_REFUSED:
    case WH_FRAME_FOUND: break; /* told by accept_try */
    }
}

static void take_chips(void *context, const wh_chips *chips)
{
    wh_burst_worker *worker = context;
    worker->chips = chips;
    worker->understood = worker->sure = false;
    for (size_t i = 0; i < worker->radio->framing_count; i++) {
        worker->framing = &worker->radio->framings[i];
        const wh_frame_outcome outcome = wh_frame_search(&worker->framing->framing, chips, accept_try, worker);
        explain_outcome(worker, &outcome);
    }
    if (worker->understood)
        wh_demod_understood(worker->demod, &worker->radio->radio, &worker->radio->limits, chips, worker->sure);
}

/* `unlike`: no need to try, when the burst's looks do not tell that anyway. */
static void run_radio(wh_burst_worker *worker, bool unlike)
{
    const wh_catalog_radio *radio = worker->radio;
    if (unlike && !wh_demod_excludes(worker->demod, &radio->radio)) {
        note_radio(worker, WH_STAGE_DEMOD, WH_REASON_NO_CLOCK, "the burst's chips are far likelier of another rate");
        return;
    }
    switch (wh_demod_run(worker->demod, &radio->radio, &radio->limits, take_chips, worker)) {
    case WH_DEMOD_OK: break;
    case WH_DEMOD_NO_SIGNAL:
        note_radio(worker, WH_STAGE_DEMOD, WH_REASON_NO_SIGNAL, "no energy where the tones would be");
        break;
    case WH_DEMOD_WRONG_MODULATION:
        note_radio(worker, WH_STAGE_DEMOD, WH_REASON_WRONG_MODULATION, "a tone is missing, or one too many is there");
        break;
    case WH_DEMOD_NO_CLOCK:
        note_radio(worker, WH_STAGE_DEMOD, WH_REASON_NO_CLOCK, "the chips are of another rate, or there are none");
        break;
    case WH_DEMOD_TOO_SHORT:
        note_radio(worker, WH_STAGE_DEMOD, WH_REASON_TOO_SHORT, "no emission as long as half a frame");
        break;
    case WH_DEMOD_NO_MEMORY: worker->job->out_of_memory = true; break;
    }
}

/* The burst's own reason is that of the descriptor that went furthest; among equals the first by name. */
static void conclude(wh_burst_worker *worker)
{
    wh_burst_job *job = worker->job;
    wh_burst *burst = &job->burst;
    burst->stage = WH_STAGE_DETECT;
    burst->reason = worker->catalog->descriptor_count ? WH_REASON_TOO_SHORT : WH_REASON_NO_DESCRIPTOR;
    const advance *furthest = NULL;
    for (size_t i = 0; i < worker->catalog->descriptor_count; i++) {
        const advance *attempt = &worker->furthest[i];
        if (!attempt->descriptor)
            continue;
        const bool decoded = attempt->reason == WH_REASON_DECODED;
        const bool further =
            !furthest || (decoded && furthest->reason != WH_REASON_DECODED) ||
            (decoded == (furthest->reason == WH_REASON_DECODED) &&
             (attempt->stage > furthest->stage ||
              (attempt->stage == furthest->stage &&
               strcmp(wh_descriptor_name(attempt->descriptor), wh_descriptor_name(furthest->descriptor)) < 0)));
        if (further)
            furthest = attempt;
    }
    if (furthest) {
        burst->stage = furthest->stage;
        burst->reason = furthest->reason;
        snprintf(burst->descriptor, sizeof burst->descriptor, "%s", wh_descriptor_name(furthest->descriptor));
    }
    double best = 0.0;
    for (size_t i = 0; i < job->winner_count; i++)
        best = fmax(best, job->winners[i].confidence);
    if (burst->reason == WH_REASON_DECODED && best < job->report_minimum)
        burst->reason = WH_REASON_WEAK_EVIDENCE;
    if (job->steady && burst->reason != WH_REASON_DECODED) {
        burst->stage = WH_STAGE_DETECT;
        burst->reason = WH_REASON_STEADY_CARRIER;
        burst->descriptor[0] = '\0';
    }
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const wh_attempt *)a)->descriptor, ((const wh_attempt *)b)->descriptor);
}

static void keep_attempts(wh_burst_worker *worker)
{
    wh_burst_job *job = worker->job;
    const size_t most = worker->catalog->descriptor_count;
    size_t count = 0;
    job->attempts = calloc(most ? most : 1, sizeof *job->attempts);
    if (!job->attempts) {
        job->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < most; i++) {
        const advance *from = &worker->furthest[i];
        if (!from->descriptor)
            continue;
        wh_attempt *attempt = &job->attempts[count++];
        snprintf(attempt->descriptor, sizeof attempt->descriptor, "%s", wh_descriptor_name(from->descriptor));
        snprintf(attempt->detail, sizeof attempt->detail, "%s", from->detail);
        attempt->stage = from->stage;
        attempt->reason = from->reason;
    }
    qsort(job->attempts, count, sizeof *job->attempts, by_name);
    job->attempt_count = count;
}

static void weigh_candidates(wh_burst_worker *worker)
{
    for (size_t i = 0; i < worker->list.count; i++) {
        worker->list.items[i].evidence.tries = fmax(1.0, worker->tries);
        worker->list.items[i].confidence = wh_confidence(&worker->list.items[i].evidence);
    }
}

/* Is a candidate likelier right than wrong, and nothing surer where it is? */
static bool stands(const wh_candidate_list *list, const wh_candidate *candidate)
{
    if (candidate->confidence < LIKELY_CONFIDENCE)
        return false;
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].confidence > candidate->confidence && wh_candidates_clash(&list->items[i], candidate) &&
            !wh_candidates_same_frame(&list->items[i], candidate))
            return false;
    return true;
}

/* Mask what this round decoded, as far as that stands: chance frames would mask others. True when something else is
 * left in the burst's band. */
static bool look_past(wh_burst_worker *worker, size_t from)
{
    bool left = false;
    weigh_candidates(worker);
    for (size_t i = from; i < worker->list.count; i++) {
        const wh_candidate *candidate = &worker->list.items[i];
        if (stands(&worker->list, candidate))
            left = wh_demod_look_past(worker->demod, &candidate->descriptor->radio,
                                      candidate->carrier_hz - worker->job->centre_hz);
    }
    return left;
}

static int by_likeness(const void *a, const void *b)
{
    const turn *x = a, *y = b;
    if (x->excluded != y->excluded)
        return x->excluded ? 1 : -1;
    if (x->likeness != y->likeness)
        return x->likeness > y->likeness ? -1 : 1;
    return (x->radio > y->radio) - (x->radio < y->radio);
}

/* Weigh all that are left and, when the burst is too weak for its edges to tell, sort out those far less like it than
 * the likeliest. */
static void weigh_radios(wh_burst_worker *worker)
{
    const wh_catalog *catalog = worker->catalog;
    double likeliest = 0.0;
    for (size_t r = 0; r < catalog->radio_count; r++) {
        if (!worker->turns[r].excluded)
            worker->turns[r].likeness = wh_demod_likeness(worker->demod, &catalog->radios[r].radio);
        likeliest = fmax(likeliest, worker->turns[r].likeness);
    }
    if (wh_demod_sees_edges(worker->demod)) /* and has excluded by them what can be */
        return;
    const double share = UNLIKE * likeliest;
    const double least = worker->round ? fmax(share, UNLIKE_BENEATH) : fmin(share, UNLIKE_MOST);
    for (size_t r = 0; r < catalog->radio_count; r++)
        worker->turns[r].excluded |= worker->turns[r].likeness < least;
}

/* Try every radio, the likeliest first: once a frame is decoded beyond doubt those in whose windows it does not lie
 * are excluded. */
static void try_radios(wh_burst_worker *worker)
{
    const wh_catalog *catalog = worker->catalog;
    size_t left = 0;
    for (size_t r = 0; r < catalog->radio_count; r++) {
        const bool excluded = wh_demod_excludes(worker->demod, &catalog->radios[r].radio);
        worker->turns[r] = (turn){r, 0.0, excluded};
        left += !excluded;
    }
    if (left > UNSORTED_MOST)
        weigh_radios(worker);
    qsort(worker->turns, catalog->radio_count, sizeof *worker->turns, by_likeness);
    for (size_t i = 0; i < catalog->radio_count; i++) {
        worker->radio = &catalog->radios[worker->turns[i].radio];
        run_radio(worker, worker->turns[i].excluded || (worker->round > 0 && i >= BENEATH_MOST));
    }
}

/* Those that the burst's looks exclude are tried only when nothing came of the others and there may be somebody else. */
static void first_round(wh_burst_worker *worker)
{
    try_radios(worker);
    const size_t radios = worker->catalog->radio_count;
    if (radios == 0 || !worker->turns[radios - 1].excluded)
        return;
    const wh_catalog_radio *likeliest = &worker->catalog->radios[worker->turns[0].radio];
    weigh_candidates(worker);
    for (size_t i = 0; i < worker->list.count; i++)
        if (worker->list.items[i].confidence >= LIKELY_CONFIDENCE)
            return;
    if (!wh_demod_look_wider(worker->demod, &likeliest->radio))
        return;
    for (size_t i = 0; i < worker->catalog->radio_count; i++) {
        worker->radio = &worker->catalog->radios[worker->turns[i].radio];
        if (worker->turns[i].excluded)
            run_radio(worker, false);
    }
}

void wh_burst_worker_run(wh_burst_worker *worker, wh_burst_job *job)
{
    if (job->left_out) {
        job->burst.stage = WH_STAGE_DETECT;
        job->burst.reason = WH_REASON_BURST_STORM;
        return;
    }
    worker->job = job;
    worker->tries = 0.0;
    worker->list.count = 0;
    memset(worker->furthest, 0, (worker->catalog->descriptor_count + 1) * sizeof *worker->furthest);
    const wh_baseband baseband = {job->samples,       job->count,         job->rate_hz,
                                  job->noise_density, job->half_width_hz, job->band_centre_hz};
    if (wh_demod_load(worker->demod, &baseband) == WH_DEMOD_OK) {
        size_t before = 0;
        worker->round = 0;
        first_round(worker);
        while (++worker->round < ROUNDS_MOST && worker->list.count > before && look_past(worker, before)) {
            before = worker->list.count;
            try_radios(worker);
        }
    }
    weigh_candidates(worker);
    job->out_of_memory |= worker->list.failed;
    job->winner_count = wh_candidate_list_winners(&worker->list, job->winners, WH_WINNERS_MAX);
    sort_out_soft(job);
    conclude(worker);
    if (job->explain)
        keep_attempts(worker);
}
