#include "yaml_tree.h"
#include "text_check.h"
#include "yaml_problem.h"

#include <stdlib.h>
#include <string.h>
#include <yaml.h>

typedef struct walker {
    yaml_parser_t parser;
    wh_complaints *complaints;
    wh_status status; /* not WH_OK: stop */
    unsigned depth;
} walker;

static wh_mark mark_of(yaml_mark_t mark)
{
    return (wh_mark){(unsigned)mark.line + 1, (unsigned)mark.column + 1};
}

static wh_span span_of(yaml_mark_t start, yaml_mark_t end)
{
    const bool same_line = start.line == end.line && end.column > start.column;
    return (wh_span){mark_of(start), same_line ? (unsigned)(end.column - start.column) : 1};
}

wh_span wh_yaml_span(const wh_yaml_node *node)
{
    const bool whole = node->kind == WH_YAML_SCALAR && node->start.line == node->end.line;
    const unsigned width = node->end.column - node->start.column;
    return (wh_span){node->start, whole && node->end.column > node->start.column ? width : 1};
}

static void stop(walker *walk, wh_status status)
{
    if (walk->status == WH_OK)
        walk->status = status;
}

static bool next_event(walker *walk, yaml_event_t *event)
{
    if (walk->status != WH_OK)
        return false;
    if (yaml_parser_parse(&walk->parser, event))
        return true;
    if (walk->parser.error == YAML_MEMORY_ERROR) {
        stop(walk, WH_ERR_MEMORY);
        return false;
    }
    const wh_yaml_problem problem = wh_yaml_problem_of(walk->parser.problem);
    const yaml_mark_t mark = problem.at_construct ? walk->parser.context_mark : walk->parser.problem_mark;
    wh_complain(walk->complaints, (wh_span){mark_of(mark), 1}, problem.hint, "%s", problem.reason);
    stop(walk, WH_ERR_DATA);
    return false;
}

static wh_yaml_node *new_node(walker *walk, const yaml_event_t *event, wh_yaml_kind kind)
{
    wh_yaml_node *const node = calloc(1, sizeof *node);
    if (!node) {
        stop(walk, WH_ERR_MEMORY);
        return NULL;
    }
    node->kind = kind;
    node->start = mark_of(event->start_mark);
    node->end = mark_of(event->end_mark);
    return node;
}

/* Anchors and tags stand before the content they belong to, within the same event. */
static void refuse_decoration(walker *walk, const yaml_event_t *event, const yaml_char_t *anchor,
                              const yaml_char_t *tag)
{
    const wh_span where = {mark_of(event->start_mark), 1};
    if (anchor)
        wh_complain(walk->complaints, where, "write the value out at every place", "anchors (&name) are not accepted");
    if (tag)
        wh_complain(walk->complaints, where, "leave the tag out", "tags (!name) are not accepted");
}

static wh_yaml_node *read_scalar(walker *walk, const yaml_event_t *event)
{
    refuse_decoration(walk, event, event->data.scalar.anchor, event->data.scalar.tag);
    wh_yaml_node *const node = new_node(walk, event, WH_YAML_SCALAR);
    if (!node)
        return NULL;
    const char *const value = (const char *)event->data.scalar.value;
    const size_t length = event->data.scalar.length;
    node->quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    node->text = malloc(length + 1);
    if (!node->text) {
        stop(walk, WH_ERR_MEMORY);
        return node;
    }
    memcpy(node->text, value, length);
    node->text[length] = '\0';
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)value[i];
        if ((c < 0x20 && c != '\n' && c != '\t') || c == 0x7F) {
            wh_complain(walk->complaints, wh_yaml_span(node), "remove the escape sequence",
                        "the text contains the control character 0x%02X", c);
            node->kind = WH_YAML_REFUSED;
            break;
        }
    }
    return node;
}

static void append(wh_yaml_node *parent, wh_yaml_node *child)
{
    if (parent->last)
        parent->last->next = child;
    else
        parent->first = child;
    parent->last = child;
    parent->count++;
}

static bool too_many(walker *walk, const wh_yaml_node *parent, unsigned most, const yaml_event_t *event)
{
    if (parent->count < most)
        return false;
    wh_complain(walk->complaints, span_of(event->start_mark, event->end_mark), NULL, "more than %u entries in one %s",
                most, parent->kind == WH_YAML_MAP ? "map" : "list");
    stop(walk, WH_ERR_LIMIT);
    return true;
}

static wh_yaml_node *read_node(walker *walk, yaml_event_t *event);

static void read_list(walker *walk, wh_yaml_node *list)
{
    yaml_event_t event;
    while (next_event(walk, &event)) {
        if (event.type == YAML_SEQUENCE_END_EVENT) {
            list->end = mark_of(event.end_mark);
            yaml_event_delete(&event);
            return;
        }
        if (too_many(walk, list, WH_YAML_LIST_MAX, &event)) {
            yaml_event_delete(&event);
            return;
        }
        wh_yaml_node *const entry = read_node(walk, &event);
        if (entry)
            append(list, entry);
    }
}

/* A key that may stand in this map: text, and new. */
static bool key_is_good(walker *walk, const wh_yaml_node *map, const wh_yaml_node *key)
{
    if (key->kind == WH_YAML_REFUSED)
        return false;
    if (key->kind != WH_YAML_SCALAR) {
        wh_complain(walk->complaints, wh_yaml_span(key), "keys are plain words", "a %s cannot be a key",
                    key->kind == WH_YAML_MAP ? "map" : "list");
        return false;
    }
    for (const wh_yaml_node *value = map->first; value; value = value->next) {
        if (strcmp(value->key->text, key->text) == 0) {
            wh_complain(walk->complaints, wh_yaml_span(key), "remove one of the two",
                        "the key '%.40s' stands here a second time (first in line %u)", key->text,
                        value->key->start.line);
            return false;
        }
    }
    return true;
}

static void read_map(walker *walk, wh_yaml_node *map)
{
    yaml_event_t event;
    while (next_event(walk, &event)) {
        if (event.type == YAML_MAPPING_END_EVENT) {
            map->end = mark_of(event.end_mark);
            yaml_event_delete(&event);
            return;
        }
        if (too_many(walk, map, WH_YAML_MAP_MAX, &event)) {
            yaml_event_delete(&event);
            return;
        }
        wh_yaml_node *key = read_node(walk, &event);
        wh_yaml_node *value = key && next_event(walk, &event) ? read_node(walk, &event) : NULL;
        if (key && value && walk->status == WH_OK && key_is_good(walk, map, key)) {
            value->key = key;
            append(map, value);
        } else {
            wh_yaml_destroy(&key);
            wh_yaml_destroy(&value);
        }
    }
}

static wh_yaml_node *read_collection(walker *walk, const yaml_event_t *event, wh_yaml_kind kind)
{
    if (walk->depth >= WH_YAML_DEPTH_MAX) {
        wh_complain(walk->complaints, (wh_span){mark_of(event->start_mark), 1}, NULL,
                    "maps and lists are nested more than %d deep", WH_YAML_DEPTH_MAX);
        stop(walk, WH_ERR_LIMIT);
        return NULL;
    }
    wh_yaml_node *const node = new_node(walk, event, kind);
    if (!node)
        return NULL;
    walk->depth++;
    if (kind == WH_YAML_MAP)
        read_map(walk, node);
    else
        read_list(walk, node);
    walk->depth--;
    return node;
}

/* The node that `event` begins; the event is released. Recursion is bounded by WH_YAML_DEPTH_MAX. NULL only when the
 * walk has stopped. */
static wh_yaml_node *read_node(walker *walk, yaml_event_t *event)
{
    wh_yaml_node *node;
    if (event->type == YAML_SCALAR_EVENT) {
        node = read_scalar(walk, event);
    } else if (event->type == YAML_MAPPING_START_EVENT) {
        refuse_decoration(walk, event, event->data.mapping_start.anchor, event->data.mapping_start.tag);
        node = read_collection(walk, event, WH_YAML_MAP);
    } else if (event->type == YAML_SEQUENCE_START_EVENT) {
        refuse_decoration(walk, event, event->data.sequence_start.anchor, event->data.sequence_start.tag);
        node = read_collection(walk, event, WH_YAML_LIST);
    } else {
        wh_complain(walk->complaints, span_of(event->start_mark, event->end_mark),
                    "write the value out; a text that begins with * needs quotes", "aliases (*name) are not accepted");
        node = new_node(walk, event, WH_YAML_REFUSED);
    }
    yaml_event_delete(event);
    return node;
}

/* Read events up to the end of the stream; the first document becomes the tree. */
static wh_yaml_node *read_stream(walker *walk)
{
    wh_yaml_node *root = NULL;
    yaml_event_t event;
    for (bool end = false; !end && next_event(walk, &event);) {
        end = event.type == YAML_STREAM_END_EVENT;
        if (event.type == YAML_DOCUMENT_START_EVENT && root) {
            wh_complain(walk->complaints, (wh_span){mark_of(event.start_mark), 1}, "one document in a file",
                        "a second document begins here");
            stop(walk, WH_ERR_DATA);
        }
        if (event.type == YAML_SCALAR_EVENT || event.type == YAML_MAPPING_START_EVENT ||
            event.type == YAML_SEQUENCE_START_EVENT || event.type == YAML_ALIAS_EVENT)
            root = read_node(walk, &event);
        else
            yaml_event_delete(&event);
    }
    return root;
}

wh_status wh_yaml_parse(wh_complaints *complaints, wh_yaml_node **root)
{
    *root = NULL;
    if (complaints->length > WH_YAML_BYTES_MAX) {
        wh_complain(complaints, (wh_span){{1, 1}, 1}, NULL, "the file has more than %u bytes", WH_YAML_BYTES_MAX);
        return WH_ERR_LIMIT;
    }
    if (!wh_text_check(complaints))
        return WH_ERR_DATA;
    walker walk = {.complaints = complaints, .status = WH_OK};
    if (!yaml_parser_initialize(&walk.parser))
        return WH_ERR_MEMORY;
    yaml_parser_set_input_string(&walk.parser, (const unsigned char *)complaints->text, complaints->length);
    yaml_parser_set_encoding(&walk.parser, YAML_UTF8_ENCODING);
    wh_yaml_node *tree = read_stream(&walk);
    yaml_parser_delete(&walk.parser);
    if (walk.status == WH_OK && !tree) {
        wh_complain(complaints, (wh_span){{1, 1}, 1}, "a descriptor begins with 'wheelhark descriptor: 1'",
                    "the file is empty");
        walk.status = WH_ERR_DATA;
    }
    if (walk.status != WH_OK)
        wh_yaml_destroy(&tree);
    *root = tree;
    return walk.status;
}

void wh_yaml_destroy(wh_yaml_node **root)
{
    wh_yaml_node *const node = *root;
    if (!node)
        return;
    while (node->first) {
        wh_yaml_node *child = node->first;
        node->first = child->next;
        wh_yaml_destroy(&child);
    }
    wh_yaml_destroy(&node->key);
    free(node->text);
    free(node);
    *root = NULL;
}

const wh_yaml_node *wh_yaml_find(const wh_yaml_node *map, const char *key)
{
    for (const wh_yaml_node *value = map->first; value; value = value->next) {
        if (strcmp(value->key->text, key) == 0)
            return value;
    }
    return NULL;
}
