/* One burst as a page of its own: what was heard, what every descriptor made of it, and how to study it further. */
#ifndef WH_BURST_PAGE_H
#define WH_BURST_PAGE_H

#include "burst_shelf.h"
#include "wheelhark/descriptor.h"

#define WH_BURST_NAME_SIZE 40
/* What its recording is called, without an ending: "burst-12". */
void wh_burst_page_name(char name[WH_BURST_NAME_SIZE], const wh_burst *burst);

/* HTML with its style inside and no script. `descriptors`: those it was tried with; `token`: what links must carry, or NULL. */
void wh_burst_page(const wh_shelf_burst *burst, const wh_descriptor_set *descriptors, const char *token, wh_text *html);

#endif
