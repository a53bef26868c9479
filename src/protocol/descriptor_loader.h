/* From the text of a descriptor file to a compiled descriptor. */
#ifndef WH_DESCRIPTOR_LOADER_H
#define WH_DESCRIPTOR_LOADER_H

#include "descriptor_model.h"

/* Parse, check and compile. `name` stands for the file in complaints and becomes descriptor->path. Every complaint,
 * warnings too, goes to `complain` (may be NULL) in file order; a name that `known` (may be NULL) has already is a
 * warning. *out is NULL unless WH_OK is returned; then the caller
 * destroys it. WH_ERR_DATA, WH_ERR_LIMIT or WH_ERR_MEMORY. */
wh_status wh_descriptor_compile(const wh_descriptor_set *known, const char *name, const char *text, size_t length,
                                wh_complaint_fn complain, void *context, wh_descriptor **out);
void wh_descriptor_destroy(wh_descriptor **descriptor);

#endif
