#include "sweep_steps.h"

#include "command.h"
#include "csv_print.h"
#include "whole_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int wh_sweep_steps_load(const char *file, wh_sweep_steps *steps)
{
    wh_error error;
    char *text;
    size_t length;
    *steps = (wh_sweep_steps){.file = file};
    if (wh_file_read(file, WH_CSV_BYTES_MAX, &text, &length, &error) != WH_OK)
        return wh_exit_for(&error);
    wh_csv_complaints complaints = {0};
    const wh_status read = wh_walk_steps_parse(text, length, &steps->steps, &steps->count, &complaints);
    wh_csv_complaints_print(file, &complaints);
    wh_csv_complaints_free(&complaints);
    free(text);
    return wh_exit_of(read);
}

/* The unit and wheel a step is about: as it says, else where he stands, else the only unit. */
static wh_status settle(const wh_walk_step *step, const wh_walk *walk, const wh_sweep *sweep, wh_walk_step *out,
                        wh_error *error)
{
    const wh_stop *here = walk->phase == WH_WALK_AT ? &walk->stops[walk->at] : NULL;
    *out = *step;
    if (!out->unit[0] && sweep->unit_count != 1 && !here)
        return wh_fail(error, WH_ERR_DATA, "fill in the column 'unit'", "row %u does not say which unit", step->row);
    if (!out->unit[0])
        snprintf(out->unit, sizeof out->unit, "%s", here ? here->unit : sweep->units[0]);
    if (out->position.axle == 0 && here && strcmp(here->unit, out->unit) == 0)
        out->position = here->position;
    const bool of_wheel = step->action == WH_EVENT_STAND || step->action == WH_EVENT_WOKEN ||
                          step->action == WH_EVENT_BIND || step->action == WH_EVENT_UNBIND;
    if (of_wheel && out->position.axle == 0)
        return wh_fail(error, WH_ERR_DATA, "fill in the column 'position'", "row %u does not say at which wheel",
                       step->row);
    return WH_OK;
}

/* He stands there already? Else he goes there: what is said about a wheel is said standing at it. */
static wh_status go(wh_sweep_run *run, const wh_walk_step *step, int64_t at_us, wh_error *error)
{
    const wh_walk *walk = wh_sweep_run_walk(run);
    const wh_stop *here = walk->phase == WH_WALK_AT ? &walk->stops[walk->at] : NULL;
    if (here && strcmp(here->unit, step->unit) == 0 && wh_position_equal(here->position, step->position))
        return WH_OK;
    return wh_sweep_run_stand(run, step->unit, step->position, at_us, error);
}

static wh_status take(wh_sweep_run *run, const wh_walk_step *step, int64_t at_us, wh_error *error)
{
    wh_heard heard = {.battery_low = -1};
    wh_status status = WH_OK;
    switch (step->action) {
    case WH_EVENT_STAND: return wh_sweep_run_stand(run, step->unit, step->position, at_us, error);
    case WH_EVENT_LEAVE: return wh_sweep_run_key(run, WH_WALK_LEAVE, at_us, error);
    case WH_EVENT_REPAIRED: return wh_sweep_run_repaired(run, step->unit, at_us, error);
    case WH_EVENT_END: return wh_sweep_run_key(run, WH_WALK_END, at_us, error);
    default: status = go(run, step, at_us, error);
    }
    if (status != WH_OK)
        return status;
    if (step->action == WH_EVENT_WOKEN)
        return wh_sweep_run_key(run, WH_WALK_WOKEN, at_us, error);
    if (step->action == WH_EVENT_UNBIND)
        return wh_sweep_run_key(run, WH_WALK_UNDO, at_us, error);
    snprintf(heard.sensor, sizeof heard.sensor, "%s", step->sensor);
    return wh_sweep_run_bind(run, &heard, at_us, error);
}

/* The error of a step, with its place in the file. A wheel or unit that is not there is a mistake in the file. */
static wh_status name_row(const wh_sweep_steps *steps, const wh_walk_step *step, wh_status status, wh_error *error)
{
    const wh_error reason = *error;
    if (status == WH_ERR_NOT_FOUND || status == WH_ERR_ARGUMENT)
        status = WH_ERR_DATA;
    return wh_fail(error, status, reason.fix, "%s: row %u: %.250s", steps->file, step->row, reason.what);
}

wh_status wh_sweep_steps_until(wh_sweep_steps *steps, wh_sweep_run *run, const wh_sweep *sweep, int64_t first_us,
                               int64_t until_us, wh_error *error)
{
    while (steps->next < steps->count) {
        const wh_walk_step *step = &steps->steps[steps->next];
        const int64_t at_us = first_us + (int64_t)llround(step->offset_s * 1e6);
        if (at_us > until_us)
            return WH_OK;
        wh_walk_step full;
        wh_status status = settle(step, wh_sweep_run_walk(run), sweep, &full, error);
        if (status == WH_OK)
            status = take(run, &full, at_us, error);
        if (status != WH_OK)
            return name_row(steps, step, status, error);
        steps->next++;
    }
    return WH_OK;
}
