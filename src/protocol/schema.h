/* Reading the sections of a descriptor file. Every function complains about what it finds wrong and goes on with the
 * rest, so that one run finds everything; nothing is stored from a value that was complained about. */
#ifndef WH_SCHEMA_H
#define WH_SCHEMA_H

#include "complaint.h"
#include "descriptor_model.h"
#include "quantity.h"
#include "yaml_tree.h"

/* How the file gives the speed. */
typedef enum wh_rate_kind { WH_RATE_NONE, WH_RATE_CHIPS, WH_RATE_BITS } wh_rate_kind;

/* One file on its way to a compiled descriptor. */
typedef struct wh_loading {
    const wh_descriptor_set *known; /* what was read before; may be NULL */
    wh_complaints *complaints;
    wh_descriptor *descriptor;
    wh_rate_kind rate_kind;
    double rate_hz; /* chips or bits per second, by rate_kind */
    const wh_yaml_node *rate_node;
    const wh_yaml_node *check_node[WH_CHECKS_MAX]; /* where each stands, for complaints across sections */
    const wh_yaml_node *check_over[WH_CHECKS_MAX], *check_place[WH_CHECKS_MAX];
    const wh_yaml_node *field_node[WH_FIELDS_MAX], *field_place[WH_FIELDS_MAX];
    bool field_good[WH_FIELDS_MAX], check_good[WH_CHECKS_MAX]; /* read without complaint */
} wh_loading;

/* The whole file: fills loading->descriptor. */
void wh_schema_read(wh_loading *loading, const wh_yaml_node *root);

/* The sections, in the order in which they must be read. `node` is the section's value; NULL when it is missing,
 * which has been complained about when it is required. */
void wh_schema_radio(wh_loading *loading, const wh_yaml_node *node);
void wh_schema_line(wh_loading *loading, const wh_yaml_node *node); /* needs the rate */
void wh_schema_rate(wh_loading *loading);                           /* chip rate; needs radio and line */
void wh_schema_frame(wh_loading *loading, const wh_yaml_node *node);
void wh_schema_checks(wh_loading *loading, const wh_yaml_node *node);
void wh_schema_fields(wh_loading *loading, const wh_yaml_node *node);
void wh_schema_examples(wh_loading *loading, const wh_yaml_node *node); /* needs the fields */

/* Parts of a field. `bits` is its width, 0 when unknown. */
void wh_schema_codes(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits);
void wh_schema_table(wh_loading *loading, const wh_yaml_node *node, wh_field *field, unsigned bits);
/* A number in the unit of the field's role; for WH_ROLE_VALUE the unit must be field->unit, and becomes it when that
 * is still empty. A temperature is a point on the scale, or with `step` a difference. */
bool wh_schema_field_number(wh_loading *loading, const wh_yaml_node *node, wh_field *field, bool step, double *value);

/* What no section can see alone: places within the payload, overlaps, roles. */
void wh_schema_consistency(wh_loading *loading, const wh_yaml_node *root);

#endif
