/* A sensor of a kind that was known in part had a nickname. When its descriptor has become complete and still names the bits that
 * never change (`steady`), its readings show both: the history under the nickname becomes that of the ID. */
#ifndef WH_SWEEP_ADOPT_H
#define WH_SWEEP_ADOPT_H

#include "frame_fields.h"
#include "store.h"
#include "wheelhark/descriptor.h"

/* The nickname that a reading's sensor had while its descriptor was partial; false when it had none. */
bool wh_nickname_before(const wh_descriptor_set *descriptors, const wh_reading *reading,
                        char nickname[WH_NICKNAME_SIZE]);

/* Rename it in the store, in the sweep's events and in the roster. *count: readings and bindings in the store that were
 * renamed; 0: the nickname was never kept. */
wh_status wh_adopt_history(wh_store *store, wh_sweep *sweep, wh_roster *roster, const char *nickname,
                           const char *sensor, size_t *count, wh_error *error);

#endif
