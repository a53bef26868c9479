/* How probable each pair of a matching is, when every way of giving sensors to seats has a weight. */
#ifndef WH_MATCH_ODDS_H
#define WH_MATCH_ODDS_H

#include "wheelhark/status.h"

#include <stddef.h>

#define WH_MATCH_SEATS_MAX 60
#define WH_MATCH_NONE      ((size_t)-1)

/* That `sensor` may be at `seat`. */
typedef struct wh_match_edge {
    unsigned seat;
    unsigned sensor;
    double log_weight; /* natural; finite */
    double odds;       /* out: probability, 0..1 */
} wh_match_edge;

/* Every seat takes one of its edges or stays empty; every sensor goes to one seat or to none. The probability of such a
 * matching is proportional to the product of exp(log_weight) of its edges and exp(log_empty) of its empty seats. */
typedef struct wh_match {
    unsigned seat_count; /* <= WH_MATCH_SEATS_MAX */
    unsigned sensor_count;
    double log_empty[WH_MATCH_SEATS_MAX];
    wh_match_edge *edges; /* each pair at most once; reordered: by sensor */
    size_t edge_count;
    /* Out. */
    double empty_odds[WH_MATCH_SEATS_MAX];
    size_t best[WH_MATCH_SEATS_MAX]; /* of the most probable matching: index of the seat's edge, WH_MATCH_NONE: empty */
    double unseen;                   /* estimate of the share of probability that was not looked at */
} wh_match;

/* The most probable matching comes from wh_assign. The sums over all matchings are made sensor by sensor: what counts of
 * those dealt with is only which of the seats still to be competed for are taken, so that matchings alike in this are added
 * up. Exact to about 1e-4 as long as no more than a few hundred such cases stay open. Beyond that unlikely pairs are dealt with
 * as if they did not compete with each other (errors of up to 0.04 where hardly anything is decided, far less elsewhere), and in
 * the end the lightest cases are left out: `unseen` says how much, and the odds are made smaller by it.
 * WH_ERR_ARGUMENT, WH_ERR_MEMORY. */
wh_status wh_match_odds(wh_match *match);

#endif
