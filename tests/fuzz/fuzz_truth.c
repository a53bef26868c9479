/* Any bytes as a table of gauge readings: no crash, no hang; what is accepted can be asked for values, a refusal says where. */
#include "fuzz_target.h"
#include "truth_match.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const recordings[] = {"one.sigmf-meta", "two"};
    wh_csv_complaints complaints = {0};
    wh_truth truth;
    const wh_status status = wh_truth_read(&truth, (const char *)data, size, recordings, 2, &complaints);
    insist(status == WH_OK || truth.rows == NULL, "nothing is handed over with a failure");
    insist(status != WH_ERR_DATA || complaints.errors > 0, "a refusal says why");
    insist(status != WH_OK || (truth.count > 0 && truth.count <= WH_TRUTH_ROWS_MAX), "rows within bounds");
    for (unsigned recording = 0; status == WH_OK && recording < 2; recording++) {
        const wh_field_row row = {
            .recording = recording, .at_s = 10.0, .has_time = true, .at_utc_us = 1772435704000000};
        const char *only = wh_truth_only_sensor(&truth, recording);
        insist(!only || only[0], "a sensor's name is text");
        for (int pressure = 0; pressure < 2; pressure++) {
            double value = NAN;
            insist(!wh_truth_value(&truth, &row, only, pressure, &value) || isfinite(value),
                   "a known value is a number");
        }
    }
    wh_truth_free(&truth);
    wh_csv_complaints_free(&complaints);
    return 0;
}
