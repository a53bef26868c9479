#include "schema.h"
#include "schema_value.h"

#include <stdio.h>
#include <string.h>

static const char *const top_keys[] = {"wheelhark descriptor",
                                       "name",
                                       "summary",
                                       "provenance",
                                       "partial",
                                       "radio",
                                       "line",
                                       "frame",
                                       "copies",
                                       "checks",
                                       "fields",
                                       "steady",
                                       "examples"};

/* False: a file of another format, of which nothing more can be said. */
static bool read_version(wh_loading *loading, const wh_yaml_node *root)
{
    const wh_yaml_node *const node = wh_yaml_find(root, "wheelhark descriptor");
    uint64_t version;
    if (!node) {
        wh_complain(loading->complaints, (wh_span){root->start, 1}, "begin the file with 'wheelhark descriptor: 1'",
                    "the file does not say that it is a descriptor");
        return true;
    }
    if (!wh_value_integer(loading->complaints, node, 0, UINT64_MAX, &version))
        return true;
    if (version == 1)
        return true;
    wh_complain(loading->complaints, wh_yaml_span(node), "this program reads version 1", "unknown format version %s",
                node->text);
    return false;
}

static void read_name(wh_loading *loading, const wh_yaml_node *node)
{
    wh_descriptor *const descriptor = loading->descriptor;
    if (!wh_value_text(loading->complaints, node, descriptor->name, sizeof descriptor->name))
        return;
    if (strspn(descriptor->name, "abcdefghijklmnopqrstuvwxyz0123456789-") != strlen(descriptor->name) ||
        descriptor->name[0] == '-')
        wh_complain(loading->complaints, wh_yaml_span(node), "example: demo-fsk-manchester",
                    "a descriptor's name has lower case letters, digits and '-' only");
    const wh_descriptor *const taken = loading->known ? wh_descriptor_set_find(loading->known, descriptor->name) : NULL;
    if (taken)
        wh_warn(loading->complaints, wh_yaml_span(node), "only the first of two descriptors with one name is used",
                "the name is already taken by %s", wh_descriptor_path(taken));
}

static void read_provenance(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"kind", "source", "note"};
    static const char *const kinds[] = {"published", "measured", "invented"};
    static const wh_provenance provenances[] = {WH_PUBLISHED, WH_MEASURED, WH_INVENTED};
    wh_descriptor *const descriptor = loading->descriptor;
    unsigned kind;
    if (!wh_value_map(loading->complaints, node, "provenance", WH_WORDS_OF(keys)))
        return;
    wh_value_scalar(loading->complaints, wh_yaml_find(node, "note"));
    wh_value_text(loading->complaints, wh_yaml_find(node, "source"), descriptor->source, sizeof descriptor->source);
    if (!wh_value_choice(loading->complaints, wh_value_need(loading->complaints, node, "provenance", "kind"),
                         "provenance", WH_WORDS_OF(kinds), &kind))
        return;
    descriptor->provenance = provenances[kind];
    if (descriptor->provenance == WH_PUBLISHED)
        wh_value_need(loading->complaints, node, "the provenance of a published layout", "source");
}

static void read_gap(wh_loading *loading, const wh_yaml_node *node)
{
    enum { GAP_MOST_S = 10 };
    static const char *const keys[] = {"least", "most"};
    wh_descriptor *const descriptor = loading->descriptor;
    double least, most;
    if (!node || node->kind == WH_YAML_REFUSED)
        return;
    if (node->kind == WH_YAML_SCALAR) {
        if (wh_value_quantity(loading->complaints, node, WH_DIM_DURATION, 0, GAP_MOST_S, &least)) {
            descriptor->gap_min_s = 0.5 * least;
            descriptor->gap_max_s = 1.5 * least;
        }
        return;
    }
    if (!wh_value_map(loading->complaints, node, "a gap", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const most_node = wh_value_need(loading->complaints, node, "a gap", "most");
    const bool has_least =
        wh_value_quantity(loading->complaints, wh_value_need(loading->complaints, node, "a gap", "least"),
                          WH_DIM_DURATION, 0, GAP_MOST_S, &least);
    if (!wh_value_quantity(loading->complaints, most_node, WH_DIM_DURATION, 0, GAP_MOST_S, &most) || !has_least)
        return;
    if (most < least) {
        wh_complain(loading->complaints, wh_yaml_span(most_node), NULL, "'most' is less than 'least'");
        return;
    }
    descriptor->gap_min_s = least;
    descriptor->gap_max_s = most;
}

static void read_copies(wh_loading *loading, const wh_yaml_node *node)
{
    enum { COPIES_MOST = 255 };
    static const char *const keys[] = {"count", "gap"};
    uint64_t count;
    if (!wh_value_map(loading->complaints, node, "copies", WH_WORDS_OF(keys)))
        return;
    if (wh_value_integer(loading->complaints, wh_value_need(loading->complaints, node, "copies", "count"), 1,
                         COPIES_MOST, &count))
        loading->descriptor->copies = (unsigned)count;
    read_gap(loading, wh_yaml_find(node, "gap"));
}

static void read_head(wh_loading *loading, const wh_yaml_node *root)
{
    wh_complaints *const complaints = loading->complaints;
    wh_descriptor *const descriptor = loading->descriptor;
    read_name(loading, wh_value_need(complaints, root, "a descriptor", "name"));
    wh_value_text(complaints, wh_value_need(complaints, root, "a descriptor", "summary"), descriptor->summary,
                  sizeof descriptor->summary);
    read_provenance(loading, wh_value_need(complaints, root, "a descriptor", "provenance"));
    wh_value_boolean(complaints, wh_yaml_find(root, "partial"), &descriptor->partial);
}

static void need_fields_and_examples(wh_loading *loading, const wh_yaml_node *root)
{
    const wh_descriptor *const descriptor = loading->descriptor;
    bool has_sensor = false;
    if (descriptor->partial)
        return;
    wh_value_need(loading->complaints, root, "a descriptor", "examples");
    const wh_yaml_node *const fields = wh_yaml_find(root, "fields");
    bool all_good = fields && fields->kind == WH_YAML_LIST && fields->count == descriptor->field_count;
    for (unsigned i = 0; i < descriptor->field_count; i++) {
        has_sensor |= descriptor->fields[i].role == WH_ROLE_SENSOR;
        all_good &= loading->field_good[i];
    }
    if (!has_sensor && (!fields || all_good))
        wh_complain(loading->complaints, fields ? wh_yaml_span(fields->key) : (wh_span){root->start, 1},
                    "while the sensor ID is not known, write 'partial: yes' at the top level",
                    "no field has the role 'sensor'");
}

void wh_schema_read(wh_loading *loading, const wh_yaml_node *root)
{
    wh_complaints *const complaints = loading->complaints;
    if (root->kind == WH_YAML_MAP && !read_version(loading, root))
        return;
    if (!wh_value_map(complaints, root, "a descriptor", WH_WORDS_OF(top_keys)))
        return;
    read_head(loading, root);
    wh_schema_radio(loading, wh_value_need(complaints, root, "a descriptor", "radio"));
    wh_schema_line(loading, wh_value_need(complaints, root, "a descriptor", "line"));
    wh_schema_rate(loading);
    wh_schema_frame(loading, wh_value_need(complaints, root, "a descriptor", "frame"));
    read_copies(loading, wh_yaml_find(root, "copies"));
    wh_schema_checks(loading, wh_yaml_find(root, "checks"));
    wh_schema_fields(loading, wh_yaml_find(root, "fields"));
    need_fields_and_examples(loading, root);
    wh_schema_consistency(loading, root);
    wh_schema_examples(loading, wh_yaml_find(root, "examples"));
}
