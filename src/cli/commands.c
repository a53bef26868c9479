#include "commands.h"

/* In the order of --help: at the vehicle, then recordings, then the rest. */
/* clang-format off */
const wh_command *const wh_commands[] = {
    &wh_cmd_listen,
    &wh_cmd_roster,
    &wh_cmd_sweep,
    &wh_cmd_serve,
    &wh_cmd_findings,
    &wh_cmd_sheet,
    &wh_cmd_store,
    &wh_cmd_decode,
    &wh_cmd_study,
    &wh_cmd_descriptor,
    &wh_cmd_synth,
    &wh_cmd_devices,
    &wh_cmd_doctor,
    &wh_cmd_settings,
};
/* clang-format on */
const size_t wh_command_count = sizeof wh_commands / sizeof wh_commands[0];
