/* One burst of the shelf for a browser: a page to look at, or a recording to save. */
#ifndef WH_WEB_BURSTS_H
#define WH_WEB_BURSTS_H

#include "burst_shelf.h"
#include "web_server.h"
#include "wheelhark/descriptor.h"

#define WH_BURST_FILE_SIZE 48

/* GET /burst?number=N, with form=sigmf the recording. In the server's thread; false: no such thing was asked for. `file_name` is
 * for the answer's name and must live until that is sent. */
bool wh_web_burst_get(wh_burst_shelf *shelf, const wh_descriptor_set *descriptors, const wh_web_query *query,
                      char file_name[WH_BURST_FILE_SIZE], wh_web_body *body);

#endif
