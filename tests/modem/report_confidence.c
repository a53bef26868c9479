/* Is a confidence of 0.9 right nine times in ten? Readings of every shipped descriptor over a range of levels,
 * sorted by what they claim, with what came true. Usage: report_confidence PROTOCOLS [TRANSMISSIONS [LOW dB HIGH dB
 * [SAMPLES FILE]]] */
#include "modem_calibration.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum group { ALL, CLEAN, REPAIRED, MERGED, MERGED_REPAIRED, BELIEVED, GROUPS };
static const char *const group_names[GROUPS] = {
    "all readings",  "one copy, nothing repaired",   "one copy, bits repaired",
    "merged copies", "merged copies, bits repaired", "confidence 0.5 and above"};

#define KINDS 32 /* descriptors told apart */
typedef struct run {
    const wh_descriptor_set *set;
    modem_reliability group[GROUPS], kind[KINDS];
    FILE *samples;
} run;

static void take_reading(void *context, const wh_reading *reading, const modem_sent *sent)
{
    run *r = context;
    const bool right = modem_values_right(reading, sent);
    const double claim = reading->confidence;
    const bool merged = reading->copies > 1, repaired = reading->repaired_bits > 0;
    modem_reliability_add(&r->group[ALL], claim, right);
    modem_reliability_add(&r->group[merged ? (repaired ? MERGED_REPAIRED : MERGED) : (repaired ? REPAIRED : CLEAN)],
                          claim, right);
    if (claim >= 0.5)
        modem_reliability_add(&r->group[BELIEVED], claim, right);
    for (size_t i = 0; i < wh_descriptor_set_count(r->set) && i < KINDS; i++)
        if (strcmp(wh_descriptor_name(wh_descriptor_set_at(r->set, i)), reading->descriptor) == 0)
            modem_reliability_add(&r->kind[i], claim, right);
    if (r->samples)
        fprintf(r->samples, "%s,%.9g,%d,%u,%u,%.2f,%.2f\n", reading->descriptor, claim, right, reading->copies,
                reading->repaired_bits, reading->snr_db, sent ? sent->eb_db : 0.0);
}

static void print_summary(const char *name, const modem_reliability *r)
{
    size_t right = 0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++)
        right += r->right[i];
    printf("| %s | %zu | %zu | %.4f | %.4f |\n", name, r->all, right, modem_calibration_error(r),
           r->all ? r->squares / (double)r->all : 0.0);
}

static void print_all(const run *r, size_t transmissions, double low_db, double high_db)
{
    printf("%zu transmissions, Eb/N0 %.0f to %.0f dB\n\n| readings | count | right | expected calibration error | "
           "Brier score |\n"
           "|---|---|---|---|---|\n",
           transmissions, low_db, high_db);
    for (int g = 0; g < GROUPS; g++)
        print_summary(group_names[g], &r->group[g]);
    for (size_t i = 0; i < wh_descriptor_set_count(r->set) && i < KINDS; i++)
        print_summary(wh_descriptor_name(wh_descriptor_set_at(r->set, i)), &r->kind[i]);
    for (int g = 0; g < GROUPS - 1; g++)
        modem_reliability_print(group_names[g], &r->group[g]);
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        fprintf(stderr, "usage: report_confidence PROTOCOLS [TRANSMISSIONS [LOW dB HIGH dB [SAMPLES FILE]]]\n");
        return 64;
    }
    const size_t transmissions = argc > 2 ? strtoul(argv[2], NULL, 10) : 1200;
    const double low_db = argc > 4 ? strtod(argv[3], NULL) : 4.0, high_db = argc > 4 ? strtod(argv[4], NULL) : 14.0;
    wh_descriptor_set *set = wh_descriptor_set_create();
    run *r = calloc(1, sizeof *r);
    bool ok = set && r && wh_descriptor_set_load_folder(set, argv[1], NULL, NULL) == WH_OK;
    if (ok) {
        r->set = set;
        r->samples = argc > 5 ? fopen(argv[5], "w") : NULL;
        if (r->samples)
            fprintf(r->samples, "descriptor,confidence,right,copies,repaired,snr_db,eb_db\n");
        ok = modem_calibration_listen(set, transmissions, low_db, high_db, 7000, take_reading, r) &&
             (!r->samples || fclose(r->samples) == 0);
    }
    if (ok)
        print_all(r, transmissions, low_db, high_db);
    else
        fprintf(stderr, "%s: no descriptors there, or no memory\n", argv[1]);
    free(r);
    wh_descriptor_set_destroy(&set);
    return ok ? 0 : 70;
}
