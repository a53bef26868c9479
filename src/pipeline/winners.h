/* Of candidates that claim the same piece of the air, one wins. */
#ifndef WH_WINNERS_H
#define WH_WINNERS_H

#include "match.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_candidate_list {
    size_t count, capacity;
    wh_candidate *items;
    bool failed; /* memory ran out; something is missing */
} wh_candidate_list;

void wh_candidate_list_add(wh_candidate_list *list, const wh_candidate *candidate);
void wh_candidate_list_free(wh_candidate_list *list);

/* The same bits by the same descriptor? */
bool wh_candidates_same_frame(const wh_candidate *a, const wh_candidate *b);
/* Do two candidates claim the same emission: overlapping in time, and in the band by their tones? */
bool wh_candidates_clash(const wh_candidate *a, const wh_candidate *b);
/* Total order of preference: confidence, then SNR, then descriptor name, then time, then frame. Negative when a is better. */
int wh_candidate_compare(const wh_candidate *a, const wh_candidate *b);
/* Sorts the list by preference and writes those that clash with no better one, then in order of time; at most `room`. */
size_t wh_candidate_list_winners(wh_candidate_list *list, wh_candidate *winners, size_t room);

#endif
