#include "layouts.h"

#include "nearest_word.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

/* The names say the structure: kind, axles, and "wide" where a side has one wide tire (super single) in place of two.
 * "lift" axles count as axles: a wheel in the air has a sensor, too. */
const wh_layout wh_layouts[] = {
    {"tractor-two-axle", "steer axle, one drive axle with duals", WH_TRACTOR, 2, {0, 1}},
    {"tractor-two-axle-wide", "steer axle, one drive axle with wide singles", WH_TRACTOR, 2, {0, 0}},
    {"tractor-three-axle", "steer axle, two drive axles with duals", WH_TRACTOR, 3, {0, 1, 1}},
    {"tractor-three-axle-wide", "steer axle, two drive axles with wide singles", WH_TRACTOR, 3, {0, 0, 0}},
    {"tractor-lift-axle", "steer axle, single-tired lift axle, one drive axle with duals", WH_TRACTOR, 3, {0, 0, 1}},
    {"tractor-two-steer", "two steer axles, two drive axles with duals", WH_TRACTOR, 4, {0, 0, 1, 1}},
    {"trailer-one-axle", "one axle with duals", WH_TRAILER, 1, {1}},
    {"trailer-tandem", "two axles with duals", WH_TRAILER, 2, {1, 1}},
    {"trailer-tandem-wide", "two axles with wide singles", WH_TRAILER, 2, {0, 0}},
    {"trailer-spread", "two axles with duals, far apart", WH_TRAILER, 2, {1, 1}},
    {"trailer-spread-wide", "two axles with wide singles, far apart", WH_TRAILER, 2, {0, 0}},
    {"trailer-tridem", "three axles with duals", WH_TRAILER, 3, {1, 1, 1}},
    {"trailer-tridem-wide", "three axles with wide singles", WH_TRAILER, 3, {0, 0, 0}},
    {"trailer-four-axle", "four axles with duals", WH_TRAILER, 4, {1, 1, 1, 1}},
    {"trailer-turntable", "front axle on a turntable, two rear axles, duals", WH_TRAILER, 3, {1, 1, 1}},
    {"dolly-one-axle", "converter dolly, one axle with duals", WH_DOLLY, 1, {1}},
    {"dolly-two-axle", "converter dolly, two axles with duals", WH_DOLLY, 2, {1, 1}},
    {"truck-two-axle", "straight truck: steer axle, one axle with duals", WH_OTHER_UNIT, 2, {0, 1}},
    {"truck-three-axle", "straight truck: steer axle, two axles with duals", WH_OTHER_UNIT, 3, {0, 1, 1}},
    {"van", "two axles with singles", WH_OTHER_UNIT, 2, {0, 0}},
};
const size_t wh_layout_count = sizeof wh_layouts / sizeof wh_layouts[0];

static bool same(const char *word, size_t length, const char *other)
{
    return strlen(other) == length && strncasecmp(word, other, length) == 0;
}

/* False when a word is neither single nor dual; then *word is it. */
static bool parse_axles(const char *text, wh_layout *layout, const char **word)
{
    static const char between[] = ", \t;+";
    layout->axle_count = 0;
    for (const char *at = text + strspn(text, between); *at; at += strspn(at, between)) {
        const size_t length = strcspn(at, between);
        const bool dual = same(at, length, "dual");
        if (!dual && !same(at, length, "single")) {
            *word = at;
            return false;
        }
        if (layout->axle_count < WH_AXLES_MAX)
            layout->dual[layout->axle_count] = dual;
        layout->axle_count++;
        at += length;
    }
    return true;
}

static wh_status no_layout(const char *text, wh_error *error)
{
    const char *names[64];
    size_t count = 0;
    for (size_t i = 0; i < wh_layout_count && count < sizeof names / sizeof names[0]; i++)
        names[count++] = wh_layouts[i].name;
    const char *nearest = wh_nearest_word(text, names, count);
    char fix[sizeof((wh_error *)0)->fix];
    if (nearest)
        snprintf(fix, sizeof fix, "did you mean '%s'?", nearest);
    else
        snprintf(fix, sizeof fix,
                 "use a name from 'wheelhark roster layouts', or list the axles from the front: "
                 "\"single, dual, dual\"");
    return wh_fail(error, WH_ERR_NOT_FOUND, fix, "there is no layout '%.60s'", text);
}

wh_status wh_layout_parse(const char *text, wh_layout *layout, wh_error *error)
{
    for (size_t i = 0; i < wh_layout_count; i++) {
        if (strcasecmp(text, wh_layouts[i].name) == 0) {
            *layout = wh_layouts[i];
            return WH_OK;
        }
    }
    wh_layout own = {.name = "", .summary = "", .kind = WH_OTHER_UNIT};
    const char *word = NULL;
    if (!parse_axles(text, &own, &word)) {
        if (own.axle_count == 0)
            return no_layout(text, error);
        return wh_fail(error, WH_ERR_NOT_FOUND, "an axle is 'single' or 'dual'",
                       "axle %u of the list, '%.20s', is neither single nor dual", own.axle_count + 1, word);
    }
    if (own.axle_count < 1 || own.axle_count > WH_AXLES_MAX)
        return wh_fail(error, WH_ERR_ARGUMENT, "list each axle from the front as single or dual",
                       "a unit has 1 to %d axles, not %u", WH_AXLES_MAX, own.axle_count);
    *layout = own;
    return WH_OK;
}

const char *wh_axles_text(char text[WH_AXLES_TEXT_SIZE], unsigned axle_count, const bool *dual)
{
    size_t length = 0;
    text[0] = '\0';
    for (unsigned axle = 0; axle < axle_count && length < WH_AXLES_TEXT_SIZE; axle++)
        length += (size_t)snprintf(text + length, WH_AXLES_TEXT_SIZE - length, "%s%s", axle ? ", " : "",
                                   dual[axle] ? "dual" : "single");
    return text;
}
