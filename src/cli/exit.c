#include "command.h"

#include "talk.h"

int wh_exit_of(wh_status status)
{
    switch (status) {
    case WH_OK: return WH_EXIT_DONE;
    case WH_ERR_ARGUMENT: return WH_EXIT_USAGE;
    case WH_ERR_FORMAT:
    case WH_ERR_UNSUPPORTED:
    case WH_ERR_DATA:
    case WH_ERR_LIMIT: return WH_EXIT_DATA;
    case WH_ERR_IO: return WH_EXIT_IO;
    case WH_ERR_NOT_FOUND: return WH_EXIT_NO_INPUT;
    case WH_ERR_BUSY: return WH_EXIT_TEMPORARY;
    case WH_ERR_PERMISSION: return WH_EXIT_PERMISSION;
    case WH_ERR_GONE: return WH_EXIT_UNAVAILABLE;
    case WH_ERR_MEMORY:
    case WH_STATUS_COUNT: break;
    }
    return WH_EXIT_SOFTWARE;
}

int wh_exit_for(const wh_error *error)
{
    wh_talk("wheelhark: ", error->what[0] ? error->what : wh_status_name(error->status));
    if (error->fix[0])
        wh_talk("  ", error->fix);
    return wh_exit_of(error->status);
}
