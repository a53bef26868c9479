/* A YAML file as a tree that knows where everything stands.
 *
 * Only the part of YAML that a descriptor needs is accepted: one document of maps, lists and scalars. Anchors, aliases
 * and tags are refused (an alias can make a small file huge, or a cycle), nesting deeper than WH_YAML_DEPTH_MAX too
 * (the scanner's time grows with the square of the depth). Scalars stay text: their type is the reader's business, so
 * that `no` or `010` mean what the key says and not what YAML 1.1 makes of them. */
#ifndef WH_YAML_TREE_H
#define WH_YAML_TREE_H

#include "complaint.h"

#define WH_YAML_BYTES_MAX (64u * 1024u)
#define WH_YAML_DEPTH_MAX 32
#define WH_YAML_MAP_MAX   256  /* entries of one map; bounds the search for duplicate keys */
#define WH_YAML_LIST_MAX  4096 /* entries of one list */

typedef enum wh_yaml_kind {
    WH_YAML_SCALAR,
    WH_YAML_MAP,
    WH_YAML_LIST,
    WH_YAML_REFUSED /* something stood here that has been complained about */
} wh_yaml_kind;

typedef struct wh_yaml_node {
    wh_yaml_kind kind;
    bool quoted;                       /* scalar: written in quotes or as a block */
    wh_mark start, end;                /* `end` is one past the last character */
    char *text;                        /* scalar; UTF-8 without NUL or control characters but line feeds and tabs */
    struct wh_yaml_node *key;          /* a value in a map: its key, a scalar; else NULL */
    struct wh_yaml_node *first, *last; /* map: the values; list: the entries */
    struct wh_yaml_node *next;
    unsigned count;
} wh_yaml_node;

/* Parse the text that `complaints` quotes. *root is NULL after a syntax error or a broken limit; smaller refusals
 * (duplicate keys, tags, ...) only leave complaints. Returns WH_OK, WH_ERR_DATA, WH_ERR_LIMIT or WH_ERR_MEMORY. */
wh_status wh_yaml_parse(wh_complaints *complaints, wh_yaml_node **root);
void wh_yaml_destroy(wh_yaml_node **root);

/* The value of `key` in a map, or NULL. */
const wh_yaml_node *wh_yaml_find(const wh_yaml_node *map, const char *key);
/* Where to point for this node: a scalar as a whole, of a map or list the start. */
wh_span wh_yaml_span(const wh_yaml_node *node);

#endif
