#include "yard_store.h"

#include "search_path.h"
#include "whole_file.h"

wh_status wh_cli_store_open(const char *path, wh_store_access access, wh_store **out, wh_error *error)
{
    *out = NULL;
    if (path)
        return wh_store_open(path, access, out, error);
    char own[WH_PATH_MAX];
    if (!wh_data_path(own, "yard.db"))
        return wh_fail(error, WH_ERR_NOT_FOUND, "name a file with --store", "no home folder is known for the store");
    const wh_status status = access == WH_STORE_WRITE
                                 ? wh_make_folders(own, "name another file with --store, or set XDG_DATA_HOME", error)
                                 : WH_OK;
    return status == WH_OK ? wh_store_open(own, access, out, error) : status;
}
