/* Any bytes as the steps of a walk and as the scenario of one: no crash, no hang, refusals say why, and accepted steps come
 * back the same when they are written and read again. */
#include "fuzz_target.h"
#include "walk_roles.h"
#include "walk_steps.h"

#include <math.h>
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

static void check_steps(const wh_walk_step *steps, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        insist(steps[i].offset_s >= (i ? steps[i - 1].offset_s : 0.0), "in order of time");
        insist(steps[i].action != WH_EVENT_STAND || steps[i].position.axle > 0, "stands somewhere");
        insist(steps[i].action != WH_EVENT_BIND || steps[i].sensor[0], "binds something");
    }
    wh_text text = {0};
    wh_walk_step *again;
    size_t again_count;
    wh_csv_complaints complaints = {0};
    wh_walk_steps_text(&text, steps, count);
    insist(wh_walk_steps_parse(text.data, text.length, &again, &again_count, &complaints) == WH_OK,
           "what is written can be read");
    insist(again_count == count, "as many steps");
    for (size_t i = 0; i < count; i++) {
        insist(fabs(again[i].offset_s - steps[i].offset_s) < 1e-6, "the same time");
        insist(again[i].action == steps[i].action && wh_position_equal(again[i].position, steps[i].position) &&
                   strcmp(again[i].unit, steps[i].unit) == 0 && strcmp(again[i].sensor, steps[i].sensor) == 0,
               "the same step");
    }
    free(again);
    wh_csv_complaints_free(&complaints);
    wh_text_free(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    wh_walk_step *steps;
    wh_walk_role *roles;
    size_t count;
    wh_csv_complaints complaints = {0};
    wh_status status = wh_walk_steps_parse((const char *)data, size, &steps, &count, &complaints);
    insist((status != WH_OK) == (complaints.errors > 0), "a refusal says why");
    if (status == WH_OK)
        check_steps(steps, count);
    free(steps);
    wh_csv_complaints_free(&complaints);

    complaints = (wh_csv_complaints){0};
    status = wh_walk_roles_parse((const char *)data, size, &roles, &count, &complaints);
    insist((status != WH_OK) == (complaints.errors > 0), "a refusal says why");
    for (size_t i = 0; status == WH_OK && i < count; i++)
        insist(roles[i].sensor[0] && roles[i].unit[0] && roles[i].answers <= 2, "a sensor somewhere");
    free(roles);
    wh_csv_complaints_free(&complaints);
    return 0;
}
