/* Where descriptors come from. */
#ifndef WH_SEARCH_PATH_H
#define WH_SEARCH_PATH_H

#include <stdbool.h>

#define WH_PATH_MAX 4096

/* The user's own folder, $XDG_DATA_HOME/wheelhark/descriptors. False when no home is known; the folder need not
 * exist. */
bool wh_user_folder(char folder[WH_PATH_MAX]);
/* The folder that came with the program. False when there is none. */
bool wh_shipped_folder(char folder[WH_PATH_MAX]);

#endif
