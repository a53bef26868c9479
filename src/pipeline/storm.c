#include "storm.h"

#define WITHIN_S 1.0

bool wh_storm_admits(wh_storm *storm, double end_s, double length_s, double held_db)
{
    const size_t known = storm->count < WH_STORM_MEMORY ? storm->count : WH_STORM_MEMORY;
    const double cost = WH_STORM_BURST_S + WH_STORM_SHARE * length_s;
    double load = cost;
    size_t recent = 0, weaker = 0;
    for (size_t i = 1; i <= known; i++) {
        const wh_storm_burst *other = &storm->burst[(storm->count - i) % WH_STORM_MEMORY];
        if (end_s - other->end_s >= WITHIN_S)
            break;
        load += other->admitted ? other->cost_s : 0.0;
        recent++;
        weaker += other->held_db < held_db;
    }
    const double pressed = 2.0 * load / WH_STORM_MOST_S - 1.0; /* 0 at half of the bound, 1 at the bound */
    /* A burst that exceeds the bound all alone is let through: each second has at least one. */
    const bool admitted =
        pressed <= 0.0 || load == cost || (pressed <= 1.0 && (double)weaker >= pressed * (double)recent);
    storm->burst[storm->count++ % WH_STORM_MEMORY] = (wh_storm_burst){end_s, cost, held_db, admitted};
    return admitted;
}
