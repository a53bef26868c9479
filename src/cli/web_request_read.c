/* Commands from a page. They come from this computer's browser with the token, and are distrusted all the same. */
#include "web_board.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    wh_walk_key key;
} keys[] = {
    {"next", WH_WALK_NEXT}, {"back", WH_WALK_BACK},   {"next-unit", WH_WALK_NEXT_UNIT}, {"woken", WH_WALK_WOKEN},
    {"undo", WH_WALK_UNDO}, {"leave", WH_WALK_LEAVE}, {"repaired", WH_WALK_REPAIRED},   {"end", WH_WALK_END},
};

/* A string member that fits; false when there is none or it is too long. */
static bool take_string(const json_t *object, const char *key, char *out, size_t size)
{
    const json_t *member = json_object_get(object, key);
    if (!json_is_string(member) || json_string_length(member) >= size)
        return false;
    snprintf(out, size, "%s", json_string_value(member));
    return out[0] != '\0';
}

static wh_status take(const json_t *object, wh_web_request *request, wh_error *error)
{
    char word[16], text[16];
    if (!json_is_object(object) || !take_string(object, "do", word, sizeof word))
        return wh_fail(error, WH_ERR_DATA, NULL, "the command does not say what to do");
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        if (strcmp(word, keys[i].name) == 0) {
            request->action = WH_WEB_KEY;
            request->key = keys[i].key;
            return WH_OK;
        }
    }
    if (strcmp(word, "stand") == 0) {
        request->action = WH_WEB_STAND;
        if (take_string(object, "unit", request->unit, sizeof request->unit) &&
            take_string(object, "position", text, sizeof text) && wh_position_parse(text, &request->position))
            return WH_OK;
        return wh_fail(error, WH_ERR_DATA, NULL, "'stand' names a unit and a wheel position");
    }
    if (strcmp(word, "bind") == 0) {
        request->action = WH_WEB_BIND;
        if (take_string(object, "sensor", request->sensor, sizeof request->sensor))
            return WH_OK;
        return wh_fail(error, WH_ERR_DATA, NULL, "'bind' names a sensor");
    }
    if (strcmp(word, "accept") == 0) {
        request->action = WH_WEB_ACCEPT;
        return WH_OK;
    }
    if (strcmp(word, "pause") == 0) {
        request->action = WH_WEB_PAUSE;
        return WH_OK;
    }
    if (strcmp(word, "play") == 0) {
        const json_t *until = json_object_get(object, "until_s");
        request->action = WH_WEB_PLAY;
        request->until_s = until ? json_number_value(until) : INFINITY;
        if (!until || json_is_number(until))
            return WH_OK;
        return wh_fail(error, WH_ERR_DATA, NULL, "'until_s' is a number of seconds");
    }
    if (strcmp(word, "measure") == 0) {
        request->action = WH_WEB_MEASURE;
        if (take_string(object, "pressure", text, sizeof text) && wh_pressure_unit_parse(text, &request->pressure) &&
            take_string(object, "temperature", text, sizeof text) &&
            wh_temperature_unit_parse(text, &request->temperature))
            return WH_OK;
        return wh_fail(error, WH_ERR_DATA, NULL, "'measure' names kPa, bar or psi, and C or F");
    }
    return wh_fail(error, WH_ERR_DATA, NULL, "'%s' is no command", word);
}

wh_status wh_web_request_read(const char *text, size_t length, wh_web_request *request, wh_error *error)
{
    json_error_t where;
    memset(request, 0, sizeof *request);
    json_t *object = json_loadb(text, length, JSON_REJECT_DUPLICATES, &where);
    if (!object)
        return wh_fail(error, WH_ERR_DATA, NULL, "the command is no JSON: %s", where.text);
    const wh_status status = take(object, request, error);
    json_decref(object);
    return status;
}
