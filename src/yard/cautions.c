#include "judge.h"

/* What stands beside every finding that touches inflation. Figures: 29 CFR 1910.177 (f) and (g) and the OSHA chart 3401; duals:
 * CCOHS. A reading clears no tire, and no line may say so. */
/* clang-format off */
const char *const wh_cautions[] = {
    "Tires under pressure kill. Only trained people with the right equipment work on them; "
        "vehicle maker, company and local rules and licensed practice come first.",
    "A tire that was run at or below 80 % of its set pressure, or that shows damage, gets no air on the vehicle: "
        "deflate it completely, take it off, inspect it inside and outside (29 CFR 1910.177).",
    "Inflate in a restraining device or with the wheel bolted on, with a clip-on chuck and a remote gauge and valve; "
        "nobody stands in the trajectory.",
    "Duals: measure both mates by gauge; a flat one is carried by its mate and does not show.",
    "A reading by radio is no proof of a tire's condition. Look at the tire, and use a gauge.",
    NULL,
};
/* clang-format on */
