/* What spoils reception, and how much: the level at which a tenth of single 80-bit Manchester frames is lost, with one fault at a
 * time; and what becomes of two sensors that send at once. Usage: report_impairments [--frames N] [--only WORD] */
#include "modem_faults.h"
#include "modem_frame.h"
#include "modem_spoilt.h"
#include "modem_theory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_DB    8.0 /* near where undisturbed frames lose a tenth */
#define HIGHEST_DB  20.0
#define LOWEST_DB   4.0
#define COLLIDED_DB 16.0 /* no frame is lost there but by the other sensor */

/* Kinds of modem_frame.h. */
enum { TONES = 0, KEYED = 2 };

typedef struct run {
    wh_descriptor_set *sets[2];
    const wh_descriptor *kinds[2]; /* TONES, KEYED */
    noise_pool *pool;
    size_t frames;
    const char *only;
    size_t wrong_believed, wrong_sure, sent;
    modem_reliability reliability;
} run;

static bool lost_share(run *r, unsigned kind, const modem_spoil *spoil, double eb_db, double *share)
{
    modem_spoilt result;
    if (!modem_spoilt_measure(r->sets[kind], r->kinds[kind], spoil, r->pool, eb_db, r->frames,
                              (uint64_t)llround(10.0 * eb_db), &result))
        return false;
    r->wrong_believed += result.wrong_believed;
    r->wrong_sure += result.wrong_sure;
    r->sent += r->frames;
    modem_reliability_join(&r->reliability, &result.reliability);
    *share = 1.0 - (double)result.believed / (double)r->frames;
    return true;
}

/* Between two levels on a straight line in log loss. */
static double tenth_between(const run *r, double low_db, double low, double high_db, double high)
{
    const double least = 0.3 / (double)r->frames; /* nothing lost: somewhere below one frame */
    const double a = log(low), b = log(fmax(high, least));
    return low_db + (a - log(0.1)) / (a - b) * (high_db - low_db);
}

/* Walk to where a tenth is lost: up in steps of 1 dB, or 2 dB while most frames are lost, or down. +infinity: not up to HIGHEST_DB. */
static bool tenth_lost(run *r, unsigned kind, const modem_spoil *spoil, double *tenth_db)
{
    double at = FIRST_DB, loss;
    if (!lost_share(r, kind, spoil, at, &loss))
        return false;
    while (loss > 0.1 && at < HIGHEST_DB) {
        const double before_db = at, before = loss;
        at += before > 0.8 ? 2.0 : 1.0;
        if (!lost_share(r, kind, spoil, at, &loss))
            return false;
        *tenth_db = loss <= 0.1 ? tenth_between(r, before_db, before, at, loss) : INFINITY;
    }
    const bool upwards = at > FIRST_DB;
    while (!upwards && loss <= 0.1 && at > LOWEST_DB) {
        const double before = loss;
        at -= 1.0;
        if (!lost_share(r, kind, spoil, at, &loss))
            return false;
        *tenth_db = loss > 0.1 ? tenth_between(r, at, loss, at + 1.0, before) : LOWEST_DB;
    }
    return true;
}

static bool chosen(const run *r, const char *name)
{
    return !r->only || strstr(name, r->only);
}

static void print_level(double tenth_db, double clean_db, bool applies)
{
    if (!applies)
        printf(" | |");
    else if (isinf(tenth_db))
        printf(" more than %.0f | more than %.0f |", HIGHEST_DB, HIGHEST_DB - clean_db);
    else
        printf(" %.1f | %+.1f |", tenth_db, tenth_db - clean_db);
}

/* How many of the readings at 0.9 and above are wrong when their confidence is true. */
static double claimed_wrong(const modem_reliability *reliability)
{
    double sum = 0.0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++)
        if (modem_claim_edges[i] >= 0.9)
            sum += (double)reliability->count[i] - reliability->claimed[i];
    return sum;
}

static bool run_faults(run *r)
{
    static const modem_spoil nothing = {0};
    double clean_db[2];
    if (!tenth_lost(r, 0, &nothing, &clean_db[0]) || !tenth_lost(r, 1, &nothing, &clean_db[1]))
        return false;
    printf(
        "Eb/N0 in dB at which a tenth of single frames is lost (confidence >= 0.5), %zu frames a level, and the shift "
        "against noise alone\n\n| fault | FSK | shift | OOK | shift | sent | wrong readings >= 0.5 | >= 0.9 "
        "|\n|---|---|---|---|---|---|---|---|\n",
        r->frames);
    for (size_t i = 0; i < modem_fault_count; i++) {
        if (!chosen(r, modem_faults[i].name))
            continue;
        const size_t sent = r->sent, believed = r->wrong_believed, sure = r->wrong_sure;
        printf("| %s |", modem_faults[i].name);
        for (unsigned kind = 0; kind < 2; kind++) {
            const bool applies = kind == 0 || modem_faults[i].spoil.deviation_error <= 0.0;
            double tenth_db = 0.0;
            if (applies && !tenth_lost(r, kind, &modem_faults[i].spoil, &tenth_db))
                return false;
            print_level(tenth_db, clean_db[kind], applies);
        }
        printf(" %zu | %zu | %zu |\n", r->sent - sent, r->wrong_believed - believed, r->wrong_sure - sure);
        fflush(stdout);
    }
    printf("\n%zu frames sent; readings nobody sent: %zu at confidence >= 0.5, %zu at >= 0.9\n", r->sent,
           r->wrong_believed, r->wrong_sure);
    printf(
        "\nAll readings of these: %zu, expected calibration error %.4f, Brier score %.4f; wrong at >= 0.9 by what they "
        "claim: %.1f\n",
        r->reliability.all, modem_calibration_error(&r->reliability),
        r->reliability.all ? r->reliability.squares / (double)r->reliability.all : 0.0, claimed_wrong(&r->reliability));
    modem_reliability_print("Confidence of spoilt frames", &r->reliability);
    return true;
}

/* Amplitudes beyond the converter's range over noise of 2 steps: 12 to 36 dB too strong. */
static bool run_clipping(run *r)
{
    static const double factors[] = {1.0, 4.0, 16.0, 64.0};
    printf(
        "\nFrames lost to clipping in the converter, %%\n\n| amplitude over full scale | FSK | OOK |\n|---|---|---|\n");
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        const modem_spoil spoil = {.full_scale_factor = factors[i]};
        printf("| x %.0f |", factors[i]);
        for (unsigned kind = 0; kind < 2; kind++) {
            double share;
            if (!lost_share(r, kind, &spoil, COLLIDED_DB, &share))
                return false;
            printf(" %.1f |", 100.0 * share);
        }
        printf("\n");
        fflush(stdout);
    }
    return true;
}

static bool collide(run *r, const modem_spoil *spoil, const char *name)
{
    if (!chosen(r, name))
        return true;
    printf("| %s |", name);
    for (unsigned kind = 0; kind < 2; kind++) {
        modem_spoilt result;
        if (!modem_spoilt_measure(r->sets[kind], r->kinds[kind], spoil, r->pool, COLLIDED_DB, r->frames, 77, &result))
            return false;
        const double all = 0.01 * (double)r->frames;
        printf(" %.0f | %.0f | %.0f | %.0f |", (double)result.other_believed / all, (double)result.believed / all,
               (double)result.both_believed / all, (double)result.alone / all);
    }
    printf("\n");
    fflush(stdout);
    return true;
}

static bool run_collisions(run *r)
{
    static const double off_hz[] = {50e3, 100e3, 150e3, 200e3, 400e3}, stronger_db[] = {0.0, 3.0, 6.0, 10.0, 20.0};
    printf("\nTwo sensors at once, beginning up to 0.8 of a frame apart; the weaker at Eb/N0 %.0f dB; %% received\n\n"
           "| collision | FSK: stronger | weaker | both | weaker has a copy alone | OOK: stronger | weaker | both | "
           "weaker "
           "has a copy alone |\n|---|---|---|---|---|---|---|---|---|\n",
           COLLIDED_DB);
    bool ok = true;
    for (size_t i = 0; ok && i < sizeof off_hz / sizeof off_hz[0]; i++) {
        char name[80];
        snprintf(name, sizeof name, "equally strong, %.0f kHz apart", off_hz[i] / 1e3);
        const modem_spoil spoil = {.other = true, .other_off_hz = off_hz[i]};
        ok = collide(r, &spoil, name);
    }
    for (unsigned copies = 1; copies <= 3; copies += 2)
        for (size_t i = 0; ok && i < sizeof stronger_db / sizeof stronger_db[0]; i++) {
            char name[80];
            snprintf(name, sizeof name, "same frequency, %.0f dB stronger, %s", stronger_db[i],
                     copies > 1 ? "three copies each" : "one frame each");
            const modem_spoil spoil = {.other = true, .other_db = stronger_db[i], .copies = copies};
            ok = collide(r, &spoil, name);
        }
    return ok;
}

static bool prepare(run *r)
{
    static const unsigned kinds[2] = {TONES, KEYED};
    /* A tenth, so that one table has all faults; the wider search for the clock is part of what is measured. */
    const modem_kind_options with = {0.10, 3, 0.03, 0.06};
    r->pool = noise_pool_create(1);
    bool ok = r->pool != NULL;
    for (unsigned k = 0; ok && k < 2; k++) {
        r->sets[k] = wh_descriptor_set_create();
        r->kinds[k] = r->sets[k] ? modem_kind_with(r->sets[k], kinds[k], with) : NULL;
        ok = r->kinds[k] != NULL;
    }
    return ok;
}

int main(int argc, char **argv)
{
    run r = {.frames = 60};
    for (int i = 1; i + 1 < argc; i += 2) {
        if (strcmp(argv[i], "--frames") == 0)
            r.frames = strtoul(argv[i + 1], NULL, 10);
        else if (strcmp(argv[i], "--only") == 0)
            r.only = argv[i + 1];
        else
            r.frames = 0;
    }
    if (r.frames == 0 || argc % 2 == 0) {
        fprintf(stderr, "usage: report_impairments [--frames N] [--only WORD OF A FAULT]\n");
        return 64;
    }
    bool ok = prepare(&r) && run_faults(&r);
    if (ok && !r.only)
        ok = run_clipping(&r);
    ok = ok && run_collisions(&r);
    for (unsigned k = 0; k < 2; k++)
        wh_descriptor_set_destroy(&r.sets[k]);
    noise_pool_destroy(&r.pool);
    if (!ok)
        fprintf(stderr, "the measurement could not be made: no memory\n");
    return ok ? 0 : 70;
}
