#include "wheelhark/position.h"

#include <ctype.h>
#include <stdio.h>

/* Indexed by wh_side and wh_place. */
static const char side_letters[WH_SIDE_COUNT] = {[WH_LEFT] = 'L', [WH_RIGHT] = 'R'};
static const char *const place_letters[WH_PLACE_COUNT] = {[WH_SINGLE] = "", [WH_OUTER] = "O", [WH_INNER] = "I"};

const char *wh_position_text(char text[WH_POSITION_SIZE], wh_position position)
{
    if (position.axle == 0 || position.side >= WH_SIDE_COUNT || position.place >= WH_PLACE_COUNT)
        snprintf(text, WH_POSITION_SIZE, "-");
    else
        snprintf(text, WH_POSITION_SIZE, "%u%c%s", position.axle, side_letters[position.side],
                 place_letters[position.place]);
    return text;
}

static const char *skip_blanks(const char *text)
{
    while (*text == ' ' || *text == '\t')
        text++;
    return text;
}

bool wh_position_parse(const char *text, wh_position *position)
{
    text = skip_blanks(text);
    unsigned axle = 0;
    for (int digits = 0; digits < 2 && isdigit((unsigned char)*text); digits++)
        axle = 10 * axle + (unsigned)(*text++ - '0');
    if (axle < 1 || axle > WH_AXLES_MAX)
        return false;

    wh_position found = {.axle = (uint8_t)axle, .side = WH_LEFT, .place = WH_SINGLE};
    while (found.side < WH_SIDE_COUNT && toupper((unsigned char)*text) != side_letters[found.side])
        found.side++;
    if (found.side == WH_SIDE_COUNT)
        return false;
    text++;

    for (uint8_t place = WH_OUTER; place < WH_PLACE_COUNT; place++) {
        if (toupper((unsigned char)*text) == *place_letters[place]) {
            found.place = place;
            text++;
            break;
        }
    }
    if (*skip_blanks(text) != '\0')
        return false;
    *position = found;
    return true;
}

bool wh_position_equal(wh_position a, wh_position b)
{
    return a.axle == b.axle && a.side == b.side && a.place == b.place;
}
