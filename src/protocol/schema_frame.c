#include "schema.h"
#include "schema_value.h"

#define PREAMBLE_DIGITS_MAX 4096 /* on the air; far longer than any receiver needs to wake up */

/* {bits: "..."} or {chips: "..."}; `repeats` NULL: not possible here. */
static bool read_pattern(wh_loading *loading, const wh_yaml_node *node, const char *what, wh_pattern *out,
                         uint16_t *repeats)
{
    static const char *const keys[] = {"bits", "chips", "repeats"};
    wh_complaints *const complaints = loading->complaints;
    uint64_t times = 1;
    size_t count;
    if (!wh_value_map(complaints, node, what, (wh_words){keys, repeats ? 3 : 2}))
        return false;
    const wh_yaml_node *const bits = wh_yaml_find(node, "bits"), *const chips = wh_yaml_find(node, "chips");
    if ((bits != NULL) == (chips != NULL)) {
        wh_complain(complaints, (wh_span){node->start, 1}, "bits go through the line code, chips are sent as they are",
                    "%s needs exactly one of the keys 'bits' and 'chips'", what);
        return false;
    }
    const bool good_times = !repeats || !wh_yaml_find(node, "repeats") ||
                            wh_value_integer(complaints, wh_yaml_find(node, "repeats"), 1, PREAMBLE_DIGITS_MAX, &times);
    if (!wh_value_digits(complaints, bits ? bits : chips, out->value, WH_PATTERN_MAX, &count) || !good_times)
        return false;
    if (count == 0 || count * times > PREAMBLE_DIGITS_MAX) {
        wh_complain(complaints, wh_yaml_span(node), NULL, "%s has %llu %s in all; 1 to %d are possible", what,
                    (unsigned long long)(count * times), bits ? "bits" : "chips", PREAMBLE_DIGITS_MAX);
        return false;
    }
    out->chips = chips != NULL;
    out->count = (uint16_t)count;
    if (repeats)
        *repeats = (uint16_t)times;
    return true;
}

static void read_payload(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"least", "most", "step"};
    wh_complaints *const complaints = loading->complaints;
    wh_frame_spec *const frame = &loading->descriptor->frame;
    unsigned least, most, step = 8;
    if (!node || node->kind == WH_YAML_REFUSED)
        return;
    if (node->kind == WH_YAML_SCALAR) {
        if (wh_value_bit_count(complaints, node, 2, WH_FRAME_BITS_MAX, &least))
            frame->bits_min = frame->bits_max = (uint16_t)least;
        return;
    }
    if (!wh_value_map(complaints, node, "payload", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const most_node = wh_value_need(complaints, node, "payload", "most");
    const bool has_least = wh_value_bit_count(complaints, wh_value_need(complaints, node, "payload", "least"), 2,
                                              WH_FRAME_BITS_MAX, &least);
    const wh_yaml_node *const step_node = wh_yaml_find(node, "step");
    const bool has_step = !step_node || wh_value_bit_count(complaints, step_node, 1, WH_FRAME_BITS_MAX, &step);
    if (!wh_value_bit_count(complaints, most_node, 2, WH_FRAME_BITS_MAX, &most) || !has_least || !has_step)
        return;
    if (most < least || (most - least) % step != 0) {
        wh_complain(complaints, wh_yaml_span(most_node), NULL,
                    "the longest payload must be the shortest (%u bits) plus a number of steps of %u bits", least,
                    step);
        return;
    }
    frame->bits_min = (uint16_t)least;
    frame->bits_max = (uint16_t)most;
    frame->bits_step = (uint16_t)step;
}

void wh_schema_frame(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {"preamble", "sync", "payload", "end", "bit order"};
    wh_complaints *const complaints = loading->complaints;
    wh_frame_spec *const frame = &loading->descriptor->frame;
    if (!wh_value_map(complaints, node, "frame", WH_WORDS_OF(keys)))
        return;
    const wh_yaml_node *const preamble = wh_yaml_find(node, "preamble"), *const sync = wh_yaml_find(node, "sync");
    read_pattern(loading, preamble, "preamble", &frame->preamble, &frame->preamble_repeats);
    read_pattern(loading, sync, "sync", &frame->sync, NULL);
    read_payload(loading, wh_value_need(complaints, node, "frame", "payload"));
    read_pattern(loading, wh_yaml_find(node, "end"), "end", &frame->end, NULL);
    wh_value_bit_order(complaints, wh_yaml_find(node, "bit order"), &frame->low_bit_first);
    if (!preamble && !sync)
        wh_warn(complaints, node->key ? wh_yaml_span(node->key) : wh_yaml_span(node),
                "every start within a burst has to be tried, and chance finds more of them",
                "the frame has neither preamble nor sync");
}
