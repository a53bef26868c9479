/* Descriptors by the dozen: invented kinds that differ in modulation, rate, deviation, line code and sync. */
#ifndef BENCH_FLEET_H
#define BENCH_FLEET_H

#include "wheelhark/descriptor.h"

#include <stdbool.h>

#define BENCH_FLEET_MOST 200

/* Add `count` kinds to the set, no two with the same radio; the first ones are the same whatever the count.
 * False when memory is out or there are more than BENCH_FLEET_MOST. */
bool bench_fleet_add(wh_descriptor_set *set, unsigned count);

#endif
