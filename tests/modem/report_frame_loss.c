/* Frame loss against Eb/N0: the whole receiver, a discriminator receiver on the same samples, and theory.
 * Usage: report_frame_loss [FRAMES [COPIES [KIND [FOLDER FOR PLOTS]]]] */
#include "modem_frame.h"
#include "modem_loss.h"
#include "modem_theory.h"
#include "svg_plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BITS   80
#define POINTS 14
static const double single_db[POINTS] = {5.0, 6.0, 7.0, 8.0, 8.5, 9.0, 9.5, 10.0, 11.0, 12.0, 13.0, 14.0, 16.0, 18.0};
static const double copies_db[POINTS] = {2.0, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 8.0, 9.0, 10.0, 12.0};

enum column { HEARD, BELIEVED, UNREPAIRED, PLAIN_CHIPS, PLAIN_BITS, NONCOHERENT, COHERENT, COLUMNS };
static const char *const column_names[COLUMNS] = {
    "receiver, any confidence",  "receiver, confidence >= 0.5",    "receiver, no bit repaired",
    "discriminator, hard chips", "discriminator, chip difference", "theory, noncoherent per bit",
    "theory, coherent"};

typedef struct table {
    const double *levels_db; /* [POINTS] */
    double loss[COLUMNS][POINTS];
    size_t wrong, wrong_believed, wrong_sure;
} table;

static double share_lost(size_t good, size_t all)
{
    return 1.0 - (double)good / (double)all;
}

static bool measure(unsigned kind, size_t frames, unsigned copies, table *t, char name[WH_NAME_MAX])
{
    wh_descriptor_set *set = wh_descriptor_set_create();
    /* Many copies come with longer pauses. */
    const modem_kind_options with =
        copies > 3 ? (modem_kind_options){0.05, copies, 0.04, 0.09} : (modem_kind_options){0.05, 3, 0.03, 0.06};
    const wh_descriptor *descriptor = set ? modem_kind_with(set, kind, with) : NULL;
    bool ok = descriptor != NULL;
    t->levels_db = copies > 1 ? copies_db : single_db;
    for (size_t i = 0; ok && i < POINTS; i++) {
        modem_loss loss;
        const double level_db = t->levels_db[i];
        ok =
            modem_loss_measure(set, descriptor, copies, level_db, frames, copies == 1, 1000 * kind + 100000 * i, &loss);
        const double distance = modem_kind_distance(kind), ratio = modem_ratio(level_db);
        t->loss[HEARD][i] = share_lost(loss.heard, loss.frames);
        t->loss[BELIEVED][i] = share_lost(loss.believed, loss.frames);
        t->loss[UNREPAIRED][i] = share_lost(loss.unrepaired, loss.frames);
        t->loss[PLAIN_CHIPS][i] = copies == 1 ? share_lost(loss.plain_chips, loss.frames) : NAN;
        t->loss[PLAIN_BITS][i] = copies == 1 && loss.has_bits ? share_lost(loss.plain_bits, loss.frames) : NAN;
        t->loss[NONCOHERENT][i] = distance < 1.0 ? NAN : modem_frame_loss(modem_noncoherent_error(ratio), BITS);
        t->loss[COHERENT][i] = modem_frame_loss(modem_coherent_error(distance * ratio), BITS);
        t->wrong += loss.wrong;
        t->wrong_believed += loss.wrong_believed;
        t->wrong_sure += loss.wrong_sure;
    }
    if (ok)
        snprintf(name, WH_NAME_MAX, "%s", wh_descriptor_name(descriptor));
    wh_descriptor_set_destroy(&set);
    return ok;
}

/* Level at which a tenth is lost, between neighbouring points on a straight line in log loss. NaN when it is not
 * reached. */
static double tenth_lost_db(const double *levels_db, const double *loss, size_t frames)
{
    const double least = 0.3 / (double)frames; /* nothing lost: somewhere below one frame */
    for (size_t i = 1; i < POINTS; i++) {
        if (!(loss[i - 1] > 0.1 && loss[i] <= 0.1))
            continue;
        const double a = log(loss[i - 1]), b = log(fmax(loss[i], least)), wanted = log(0.1);
        return levels_db[i - 1] + (a - wanted) / (a - b) * (levels_db[i] - levels_db[i - 1]);
    }
    return NAN;
}

static void print_table(const char *name, const table *t, size_t frames, unsigned copies)
{
    printf("\n### %s, %zu frames a point, copies: %u\n\n| Eb/N0 dB |", name, frames, copies);
    for (int c = 0; c < COLUMNS; c++)
        printf(" %s |", column_names[c]);
    printf("\n|---|");
    for (int c = 0; c < COLUMNS; c++)
        printf("---|");
    for (size_t i = 0; i < POINTS; i++) {
        printf("\n| %.1f |", t->levels_db[i]);
        for (int c = 0; c < COLUMNS; c++)
            isnan(t->loss[c][i]) ? printf(" |") : printf(" %.4f |", t->loss[c][i]);
    }
    printf("\n| **10 %% at** |");
    for (int c = 0; c < COLUMNS; c++) {
        const double at = tenth_lost_db(t->levels_db, t->loss[c], frames);
        isnan(at) ? printf(" |") : printf(" **%.2f** |", at);
    }
    printf("\n\nReadings that were not sent: %zu, of these at confidence 0.5 or more %zu, at 0.9 or more %zu.\n",
           t->wrong, t->wrong_believed, t->wrong_sure);
    fflush(stdout);
}

static bool draw(const char *folder, const char *name, unsigned copies, const table *t)
{
    char path[512], title[128];
    snprintf(path, sizeof path, "%s/frame-loss-%s-copies-%u.svg", folder, name, copies);
    snprintf(title, sizeof title, "Frame loss, 80 bits with CRC of 8, %s, copies: %u", name, copies);
    svg_plot plot = {title, "Eb/N0, dB", "share of frames lost", t->levels_db[0], t->levels_db[POINTS - 1], 3,
                     0,     {{0}}};
    for (int c = 0; c < COLUMNS; c++)
        if (!isnan(t->loss[c][0]))
            plot.series[plot.series_count++] =
                (svg_series){column_names[c], t->levels_db, t->loss[c], POINTS, c >= NONCOHERENT};
    return svg_plot_write(&plot, path);
}

int main(int argc, char **argv)
{
    const size_t frames = argc > 1 ? strtoul(argv[1], NULL, 10) : 500;
    const unsigned copies = argc > 2 ? (unsigned)strtoul(argv[2], NULL, 10) : 1;
    const char *only = argc > 3 && strcmp(argv[3], "all") != 0 ? argv[3] : NULL;
    if (frames == 0 || copies == 0) {
        fprintf(stderr, "usage: report_frame_loss [FRAMES [COPIES [KIND or all [FOLDER FOR PLOTS]]]]\n");
        return 64;
    }
    for (unsigned kind = 0; kind < MODEM_KINDS; kind++) {
        char name[WH_NAME_MAX];
        if (only && strcmp(only, modem_kind_name(kind)) != 0)
            continue;
        table t = {0};
        if (!measure(kind, frames, copies, &t, name)) {
            fprintf(stderr, "the measurement of kind %u could not be made\n", kind);
            return 70;
        }
        print_table(name, &t, frames, copies);
        if (argc > 4 && !draw(argv[4], name, copies, &t)) {
            fprintf(stderr, "%s: cannot write the plot\n", argv[4]);
            return 73;
        }
    }
    return 0;
}
