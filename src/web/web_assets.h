/* The files of src/web/page, built into the program. */
#ifndef WH_WEB_ASSETS_H
#define WH_WEB_ASSETS_H

#include "web_server.h"

extern const wh_web_asset wh_web_assets[];
extern const size_t wh_web_asset_count;

#endif
