/* A progress bar as text; who shows it decides when and where. */
#ifndef WH_PROGRESS_H
#define WH_PROGRESS_H

#include "text_buffer.h"

#include <stdint.h>

/* One line without its end, at most `columns` wide (20..500, clamped): "name [####......]  42 %". Of the name the end
 * is kept. `done` beyond `total` counts as all; `total` 0 (unknown) gives the name alone. */
void wh_progress_line(wh_text *text, const char *name, uint64_t done, uint64_t total, unsigned columns);

#endif
