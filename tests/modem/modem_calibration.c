#include "modem_calibration.h"

#include "modem_theory.h"

#include <math.h>
#include <stdio.h>

#define BATCH 120
#define KINDS 32 /* most descriptors that send */

const double modem_claim_edges[MODEM_CLAIMS + 1] = {0.0, 0.1, 0.2,  0.3,  0.4,   0.5,    0.6, 0.7,
                                                    0.8, 0.9, 0.95, 0.99, 0.999, 0.9999, 1.0};

void modem_reliability_add(modem_reliability *reliability, double claim, bool right)
{
    size_t bin = 0;
    while (bin + 1 < MODEM_CLAIMS && claim >= modem_claim_edges[bin + 1])
        bin++;
    reliability->count[bin]++;
    reliability->right[bin] += right;
    reliability->claimed[bin] += claim;
    reliability->squares += (claim - right) * (claim - right);
    reliability->variance += claim * (1.0 - claim);
    reliability->all++;
}

void modem_reliability_join(modem_reliability *all, const modem_reliability *part)
{
    for (size_t i = 0; i < MODEM_CLAIMS; i++) {
        all->count[i] += part->count[i];
        all->right[i] += part->right[i];
        all->claimed[i] += part->claimed[i];
    }
    all->squares += part->squares;
    all->variance += part->variance;
    all->all += part->all;
}

void modem_reliability_print(const char *heading, const modem_reliability *r)
{
    printf("\n### %s\n\n| claim | readings | mean claim | right | 95 %% interval |\n|---|---|---|---|---|\n", heading);
    for (size_t i = 0; i < MODEM_CLAIMS; i++) {
        if (r->count[i] == 0)
            continue;
        double low, high;
        modem_interval(r->right[i], r->count[i], &low, &high);
        printf("| %g to %g | %zu | %.4f | %.4f | %.4f to %.4f |\n", modem_claim_edges[i], modem_claim_edges[i + 1],
               r->count[i], r->claimed[i] / (double)r->count[i], (double)r->right[i] / (double)r->count[i], low, high);
    }
}

double modem_calibration_error(const modem_reliability *reliability)
{
    double sum = 0.0;
    for (size_t i = 0; i < MODEM_CLAIMS; i++)
        sum += fabs(reliability->claimed[i] - (double)reliability->right[i]);
    return reliability->all ? sum / (double)reliability->all : 0.0;
}

bool modem_calibration_listen(const wh_descriptor_set *set, size_t transmissions, double low_db, double high_db,
                              uint64_t seed, modem_reading_fn reading, void *context)
{
    const wh_descriptor *senders[KINDS];
    size_t sender_count = 0;
    for (size_t i = 0; i < wh_descriptor_set_count(set) && sender_count < KINDS; i++)
        senders[sender_count++] = wh_descriptor_set_at(set, i);
    bool ok = sender_count > 0;
    for (size_t done = 0, batch = 0; ok && done < transmissions; done += BATCH, batch++) {
        modem_air_spec spec = modem_air_usual();
        spec.descriptors = senders;
        spec.descriptor_count = sender_count;
        spec.count = BATCH;
        spec.copies = batch % 3 == 2 ? 0 : 1; /* one batch in three with the copies the descriptor says, to be merged */
        spec.eb_low_db = low_db;
        spec.eb_high_db = high_db;
        spec.seed = seed + 16 * batch;
        modem_air *air = modem_air_create(&spec);
        ok = air && modem_air_receive(air, set, reading, context);
        modem_air_destroy(&air);
    }
    return ok;
}
