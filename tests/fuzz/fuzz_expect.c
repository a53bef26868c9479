/* Any bytes as a file of expected readings: no crash, no hang; what is accepted can be compared, and what was not
 * heard is told. */
#include "expect.h"
#include "fuzz_target.h"

#include <stdio.h>
#include <stdlib.h>

static void insist(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

static void count_lines(void *context, const char *text)
{
    size_t *told = context;
    insist(text && text[0], "a difference is text");
    (*told)++;
}

static void compare(wh_expect *expect)
{
    static const wh_reading heard = {.offset_s = 1.0,
                                     .descriptor = "demo",
                                     .sensor = "0A1B2C3D",
                                     .pressure_state = WH_VALUE_OK,
                                     .pressure = {724.0},
                                     .temperature_state = WH_VALUE_FAULT,
                                     .flag_count = 1,
                                     .flags = {{"battery low", true}},
                                     .copies = 1};
    size_t told = 0;
    insist(wh_expect_reading(expect, &heard) == WH_OK, "a reading can be kept");
    const size_t differences = wh_expect_compare(expect, count_lines, &told);
    insist(differences == told, "every difference is told");
    insist(differences > 0 || wh_expect_count(expect) == wh_expect_heard(expect), "no difference: all are paired");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    wh_expect *expect;
    wh_error error = {.status = WH_OK};
    const wh_status status = wh_expect_parse("input", (const char *)data, size, &expect, &error);
    insist((status == WH_OK) == (expect != NULL), "an object exactly when it is accepted");
    insist(status == WH_OK || (error.what[0] && error.status == status), "a refusal says why");
    if (expect)
        compare(expect);
    wh_expect_destroy(&expect);
    return 0;
}
