#include "yard_store.h"

#include "search_path.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

/* Make every folder above a file. */
static wh_status make_folders(const char *path, wh_error *error)
{
    char folder[WH_PATH_MAX];
    for (const char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        memcpy(folder, path, (size_t)(slash - path));
        folder[slash - path] = '\0';
        /* Positions and IDs of a fleet are nobody else's business. */
        if (mkdir(folder, 0700) != 0 && errno != EEXIST)
            return wh_fail(error, errno == EACCES ? WH_ERR_PERMISSION : WH_ERR_IO,
                           "name another file with --store, or set XDG_DATA_HOME", "%s: cannot be made: %s", folder,
                           strerror(errno));
    }
    return WH_OK;
}

wh_status wh_cli_store_open(const char *path, wh_store_access access, wh_store **out, wh_error *error)
{
    *out = NULL;
    if (path)
        return wh_store_open(path, access, out, error);
    char own[WH_PATH_MAX];
    if (!wh_data_path(own, "yard.db"))
        return wh_fail(error, WH_ERR_NOT_FOUND, "name a file with --store", "no home folder is known for the store");
    const wh_status status = access == WH_STORE_WRITE ? make_folders(own, error) : WH_OK;
    return status == WH_OK ? wh_store_open(own, access, out, error) : status;
}
