/* What like emissions say together about their radio. */
#ifndef WH_KIND_RADIO_H
#define WH_KIND_RADIO_H

#include "emission_set.h"
#include "kind_estimate.h"

#include <stdbool.h>

/* Fill the radio part of the estimate from the aligned emissions. False when memory is out. */
bool wh_kind_radio(wh_burst_store *store, const wh_emission_set *set, wh_kind_estimate *kind);

#endif
