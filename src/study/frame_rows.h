/* Frames found with an estimate, copies merged: the rows of the table. */
#ifndef WH_FRAME_ROWS_H
#define WH_FRAME_ROWS_H

#include "burst_store.h"
#include "frame_table.h"

/* Search every burst of `member` (store indexes) with the radio, line and frame of table->kind; fill rows, columns, copies, gaps and
 * counts. Bursts in which a frame was found get kind number `number`. False when memory is out. The rows are the caller's to free. */
bool wh_frame_rows_fill(wh_burst_store *store, wh_demod *demod, const size_t *member, size_t count, int number,
                        wh_frame_table *table);

/* What the demodulator must know of a layout. */
wh_demod_limits wh_frame_rows_limits(const wh_kind_estimate *kind);

#endif
