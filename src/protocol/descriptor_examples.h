/* The proof of a descriptor: its examples, read with its own layout. */
#ifndef WH_DESCRIPTOR_EXAMPLES_H
#define WH_DESCRIPTOR_EXAMPLES_H

#include "schema.h"

/* Complain when a check does not hold for the example's frame, a constant has another value, or a field reads as
 * something else than expected. `values[i]` is where expected[i] stands in the file. The descriptor must be without
 * errors. */
void wh_example_check(wh_loading *loading, const wh_example *example, const wh_yaml_node *frame,
                      const wh_yaml_node *const *values);

#endif
