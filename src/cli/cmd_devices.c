/* wheelhark devices: the dongles at this computer. */
#include "command.h"
#include "device_list.h"
#include "json_writer.h"

#include <stdio.h>
#include <stdlib.h>

enum { OPTION_JSON = 1 };

static const wh_option options[] = {
    {OPTION_JSON, 'j', "json", NULL, "Write JSON Lines: one record a dongle."},
    {0},
};

static void print_text(const wh_device *device)
{
    printf("%-20s %-9s %s%s%s%s\n", device->serial[0] ? device->serial : "(not readable)",
           device->problem.status == WH_OK ? "usable" : "NOT", device->model, device->product[0] ? " (" : "",
           device->product, device->product[0] ? ")" : "");
    if (device->problem.status != WH_OK)
        printf("%20s %s\n%20s -> %s\n", "", device->problem.what, "", device->problem.fix);
}

static wh_status print_json(const wh_device *device)
{
    wh_text text = {.data = NULL};
    wh_json_open(&text);
    wh_json_put_string(&text, "record", "device");
    if (device->serial[0])
        wh_json_put_string(&text, "serial", device->serial);
    wh_json_put_string(&text, "model", device->model);
    if (device->product[0])
        wh_json_put_string(&text, "product", device->product);
    if (device->node[0])
        wh_json_put_string(&text, "node", device->node);
    wh_json_put_bool(&text, "usable", device->problem.status == WH_OK);
    if (device->problem.status != WH_OK) {
        wh_json_put_string(&text, "problem", device->problem.what);
        wh_json_put_string(&text, "fix", device->problem.fix);
    }
    if (device->is_held) {
        wh_json_put_string(&text, "held_by", device->holder.program);
        wh_json_put_count(&text, "held_by_process", (uint64_t)device->holder.pid);
    }
    wh_json_close(&text);
    const wh_status status = text.failed ? WH_ERR_MEMORY : WH_OK;
    if (status == WH_OK)
        printf("%s\n", text.data);
    wh_text_free(&text);
    return status;
}

static int run(wh_args *args)
{
    bool json = false;
    const char *value;
    int id;
    while ((id = wh_args_next(args, &value)) > 0)
        json = true;
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) > 0)
        return wh_args_complain(args, "'%s': takes options only", wh_args_operand(args, 0));
    wh_device devices[WH_DEVICES_MAX];
    wh_error error;
    const size_t count = wh_device_list(&wh_system_roots_default, devices);
    for (size_t i = 0; i < count; i++) {
        if (!json)
            print_text(&devices[i]);
        else if (print_json(&devices[i]) != WH_OK)
            return wh_exit_of(WH_ERR_MEMORY);
    }
    if (count > 0)
        return WH_EXIT_DONE;
    wh_fail(&error, WH_ERR_NOT_FOUND, "plug one in, best without a hub; then try again", "no dongle is plugged in");
    wh_exit_for(&error);
    return WH_EXIT_UNAVAILABLE;
}

const wh_command wh_cmd_devices = {
    .name = "devices",
    .summary = "list the dongles at this computer and whether they can be used",
    .notes = "The first column is the serial number: write it just so after --dongle. It is text, not a number.\n\n"
             "Exit status: 0 there is at least one dongle, 69 there is none.",
    .options = options,
    .run = run,
};
