/* What readings claim beside what came true. */
#ifndef MODEM_CALIBRATION_H
#define MODEM_CALIBRATION_H

#include "modem_air.h"

#define MODEM_CLAIMS 14 /* classes of claims, finer towards 1, where confidence is acted upon */
extern const double modem_claim_edges[MODEM_CLAIMS + 1];

typedef struct modem_reliability {
    size_t count[MODEM_CLAIMS], right[MODEM_CLAIMS];
    double claimed[MODEM_CLAIMS]; /* sum of the claims */
    double squares;               /* sum of (claim - outcome)^2 */
    double variance;              /* sum of claim (1 - claim): of the number right, when all claims are true */
    size_t all;
} modem_reliability;

void modem_reliability_add(modem_reliability *reliability, double claim, bool right);
/* Take over what another one counted. */
void modem_reliability_join(modem_reliability *all, const modem_reliability *part);
/* A table of claims and what came true, for a report; a heading first. */
void modem_reliability_print(const char *heading, const modem_reliability *reliability);
/* Mean distance between claim and outcome over the classes, weighted by readings; 0 without readings. */
double modem_calibration_error(const modem_reliability *reliability);

/* `transmissions` of all descriptors of `set` in turn with levels drawn evenly from low_db..high_db; every third batch with the
 * copies the descriptor says. `reading` is called for each reading. False when memory is out. */
bool modem_calibration_listen(const wh_descriptor_set *set, size_t transmissions, double low_db, double high_db,
                              uint64_t seed, modem_reading_fn reading, void *context);

#endif
