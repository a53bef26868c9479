/* The descriptors of the search path, or only those somebody named. */
#ifndef WH_DESCRIPTOR_CHOICE_H
#define WH_DESCRIPTOR_CHOICE_H

#include "command.h"

#include <stddef.h>

/* As wh_cli_load_descriptors; with `count` > 0 names, *out holds these alone. An unknown name is WH_ERR_ARGUMENT. */
wh_status wh_choose_descriptors(const char *folder_or_file, const char *const *names, size_t count,
                                wh_descriptor_set **out, wh_error *error);

#endif
