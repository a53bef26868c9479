/* A recording through a receiver without a report: for commands that count what comes out. */
#ifndef WH_QUIET_FEED_H
#define WH_QUIET_FEED_H

#include "source.h"
#include "wheelhark/receiver.h"

/* Feed one recording to its end, or until Ctrl-C. What is damaged is told on stderr; what was readable is decoded. Live sources are
 * refused: they cannot be heard twice. Returns 0 or the exit status of what went wrong. */
int wh_feed_quietly(const wh_source_options *options, wh_receiver *receiver);

#endif
