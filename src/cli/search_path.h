/* Where descriptors come from, and where the user's own things are. */
#ifndef WH_SEARCH_PATH_H
#define WH_SEARCH_PATH_H

#include <stdbool.h>

#define WH_PATH_MAX 4096

/* A file or folder of the user, $XDG_DATA_HOME/wheelhark/NAME. False when no home is known or the path is too long. It
 * need not exist. */
bool wh_data_path(char path[WH_PATH_MAX], const char *name);
/* The user's own folder, $XDG_DATA_HOME/wheelhark/descriptors. False when no home is known; the folder need not
 * exist. */
bool wh_user_folder(char folder[WH_PATH_MAX]);
/* The folder that came with the program. False when there is none. */
bool wh_shipped_folder(char folder[WH_PATH_MAX]);

#endif
