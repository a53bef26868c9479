/* The roster in the store. */
#include "roster_actions.h"

#include "descriptor_model.h"
#include "nearest_word.h"
#include "yard_store.h"

#include <stdio.h>
#include <stdlib.h>

wh_status wh_roster_open(const wh_roster_options *options, wh_roster **roster, wh_error *error)
{
    wh_store *store;
    *roster = NULL;
    wh_status status = wh_cli_store_open(options->store, WH_STORE_READ, &store, error);
    if (status == WH_ERR_NOT_FOUND) {
        *roster = wh_roster_create();
        return *roster ? WH_OK : wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    }
    if (status != WH_OK)
        return status;
    status = wh_store_roster_load(store, roster, error);
    wh_store_close(&store);
    return status;
}

wh_status wh_roster_keep(const wh_roster_options *options, const wh_roster *roster, wh_error *error)
{
    wh_store *store;
    wh_status status = wh_cli_store_open(options->store, WH_STORE_WRITE, &store, error);
    if (status != WH_OK)
        return status;
    status = wh_store_roster_save(store, roster, error);
    wh_store_close(&store);
    return status;
}

wh_status wh_roster_unit_named(const wh_roster *roster, const char *name, const wh_unit **unit, wh_error *error)
{
    *unit = wh_roster_find(roster, name);
    if (*unit)
        return WH_OK;
    const size_t count = wh_roster_count(roster);
    const char **names = calloc(count + 1, sizeof *names);
    const char *nearest = NULL;
    for (size_t i = 0; names && i < count; i++)
        names[i] = wh_roster_at(roster, i)->name;
    if (names)
        nearest = wh_nearest_word(name, names, count);
    char fix[WH_UNIT_NAME_SIZE + 40];
    snprintf(fix, sizeof fix, nearest ? "did you mean '%s'?" : "'wheelhark roster list' lists the units",
             nearest ? nearest : "");
    free(names);
    return wh_fail(error, WH_ERR_NOT_FOUND, fix, "there is no unit '%.60s' on the roster", name);
}

unsigned wh_roster_digits_of(void *context, const char *name)
{
    const wh_descriptor *descriptor = context ? wh_descriptor_set_find(context, name) : NULL;
    if (!descriptor)
        return 0;
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        const wh_field *field = &descriptor->fields[i];
        unsigned bits = 0;
        for (unsigned piece = 0; field->role == WH_ROLE_SENSOR && piece < field->at.count; piece++)
            bits += field->at.piece[piece].length;
        if (bits > 0)
            return (bits + 3) / 4;
    }
    return WH_ID_DIGITS_STANDARD; /* a partial descriptor: its sensors have nicknames */
}
