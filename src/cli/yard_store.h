/* Where the commands of the yard keep what they know. */
#ifndef WH_YARD_STORE_H
#define WH_YARD_STORE_H

#include "store.h"

/* The row of the option table that names another file. */
#define WH_STORE_OPTION_ROW(id)                                                                                        \
    {                                                                                                                  \
        id, 0, "store", "FILE", "Use this store instead of your own, ~/.local/share/wheelhark/yard.db."                \
    }

/* Open the store that `path` names, or NULL for the user's own, $XDG_DATA_HOME/wheelhark/yard.db; to write, the user's
 * folder is made when there is none. Errors as wh_store_open. */
wh_status wh_cli_store_open(const char *path, wh_store_access access, wh_store **out, wh_error *error);

#endif
