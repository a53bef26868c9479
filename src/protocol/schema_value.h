/* Single values of a descriptor file: each function reads one node, complains if it is not what it should be, and
 * stores only a good value. All accept NULL and WH_YAML_REFUSED nodes: nothing is stored, nothing said. */
#ifndef WH_SCHEMA_VALUE_H
#define WH_SCHEMA_VALUE_H

#include "complaint.h"
#include "descriptor_model.h"
#include "quantity.h"
#include "yaml_tree.h"

/* The words a key may have; the index of a word is its meaning. */
typedef struct wh_words {
    const char *const *word;
    size_t count;
} wh_words;

#define WH_WORDS_OF(array) ((wh_words){(array), sizeof(array) / sizeof(array)[0]})

/* True when `node` is a map; every key not in `keys` is complained about as unknown to `what` ("a check"). */
bool wh_value_map(wh_complaints *complaints, const wh_yaml_node *node, const char *what, wh_words keys);
/* True when `node` is a list of 1 to `most` entries. */
bool wh_value_list(wh_complaints *complaints, const wh_yaml_node *node, unsigned most);
/* The value of a key that must be there. */
const wh_yaml_node *wh_value_need(wh_complaints *complaints, const wh_yaml_node *map, const char *what,
                                  const char *key);
/* Complain about each of `keys` that stands in `map`: it does not belong to `what`. */
void wh_value_forbid(wh_complaints *complaints, const wh_yaml_node *map, const char *what, wh_words keys);

/* One line of text that fits `capacity` bytes with its final NUL, not empty. */
bool wh_value_text(wh_complaints *complaints, const wh_yaml_node *node, char *out, size_t capacity);
/* The text of a scalar as it stands, or NULL after a complaint. */
const char *wh_value_scalar(wh_complaints *complaints, const wh_yaml_node *node);
bool wh_value_integer(wh_complaints *complaints, const wh_yaml_node *node, uint64_t least, uint64_t most,
                      uint64_t *out);
/* A number with unit from `least` to `most`, in the unit of the dimension. */
bool wh_value_quantity(wh_complaints *complaints, const wh_yaml_node *node, wh_dimension dimension, double least,
                       double most, double *out);
/* A whole number of bits, "80 bits". */
bool wh_value_bit_count(wh_complaints *complaints, const wh_yaml_node *node, unsigned least, unsigned most,
                        unsigned *out);
/* One of the words. `what` names the kind of thing in the complaint: "line code". */
bool wh_value_choice(wh_complaints *complaints, const wh_yaml_node *node, const char *what, wh_words words,
                     unsigned *out);
/* yes, no, true, false */
bool wh_value_boolean(wh_complaints *complaints, const wh_yaml_node *node, bool *out);
/* "high bit first" / "low bit first", "high byte first" / "low byte first": is it the low one? */
bool wh_value_bit_order(wh_complaints *complaints, const wh_yaml_node *node, bool *low_first);
bool wh_value_byte_order(wh_complaints *complaints, const wh_yaml_node *node, bool *low_first);
/* A text of 0 and 1 into one per byte; blanks between groups are skipped. */
bool wh_value_digits(wh_complaints *complaints, const wh_yaml_node *node, uint8_t *out, size_t capacity, size_t *count);
/* {from: 0, bits: 8}, or a list of such. No bit twice. */
bool wh_value_places(wh_complaints *complaints, const wh_yaml_node *node, wh_places *out);

/* Bits in all pieces together. */
unsigned wh_places_width(const wh_places *places);

#endif
