/* Any bytes as a roster table: no crash, no hang, every refusal has its place; what is taken over comes back unchanged
 * when it is written and read again. The first byte chooses how IDs are read. */
#include "fuzz_target.h"
#include "roster_csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(bool holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

static unsigned digits_of(void *context, const char *descriptor)
{
    (void)context;
    return descriptor[0] == 'd' ? 7 : 0;
}

static void check_complaints(const wh_csv_complaints *complaints, wh_status status)
{
    insist((status != WH_OK) == (complaints->errors > 0), "a refusal says why");
    for (size_t i = 0; i < complaints->count; i++) {
        const wh_csv_complaint *item = &complaints->items[i];
        insist(item->what[0] != '\0', "a complaint has words");
        insist(item->column == 0 || item->row > 0, "a column stands in a row");
        insist(i == 0 || complaints->items[i - 1].row <= item->row, "complaints come in order");
    }
}

static void check_round_trip(const wh_roster *roster, const wh_roster_csv_options *options, wh_pressure_unit unit)
{
    wh_text first = {0}, second = {0};
    wh_roster *again;
    wh_roster_csv_tally tally;
    wh_csv_complaints complaints = {0};
    wh_roster_csv_write(&first, roster, unit);
    if (first.length <= WH_CSV_BYTES_MAX) {
        insist(wh_roster_csv_read(first.data, first.length, options, NULL, &again, &tally, &complaints) == WH_OK,
               "what is written can be read");
        wh_roster_csv_write(&second, again, unit);
        insist(first.length == second.length && memcmp(first.data, second.data, first.length) == 0, "the same bytes");
        wh_roster_destroy(&again);
    }
    wh_csv_complaints_free(&complaints);
    wh_text_free(&first);
    wh_text_free(&second);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    const wh_roster_csv_options options = {.id_base = (wh_id_base)(data[0] % 3),
                                           .digits_of = data[0] & 4 ? digits_of : NULL};
    wh_roster *roster, *onto;
    wh_roster_csv_tally tally;
    wh_csv_complaints complaints = {0};
    const char *text = (const char *)data + 1;
    wh_status status = wh_roster_csv_read(text, size - 1, &options, NULL, &roster, &tally, &complaints);
    check_complaints(&complaints, status);
    insist((status == WH_OK) == (roster != NULL), "a roster exactly when it is accepted");
    if (roster) {
        check_round_trip(roster, &options, (wh_pressure_unit)(data[0] / 8 % WH_PRESSURE_UNIT_COUNT));
        status = wh_roster_csv_read(text, size - 1, &options, roster, &onto, &tally, &complaints);
        insist(status == WH_OK && wh_roster_count(onto) == wh_roster_count(roster) && tally.new_units == 0,
               "taking the same table over again changes no unit's number");
        wh_roster_destroy(&onto);
    }
    wh_roster_destroy(&roster);
    wh_csv_complaints_free(&complaints);
    return 0;
}
