/* Any bytes as a page's command: no crash; what is refused says why; what is taken is within bounds. */
#include "fuzz_target.h"
#include "web_board.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void insist(int holds, const char *what)
{
    if (!holds) {
        fprintf(stderr, "broken promise: %s\n", what);
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    wh_web_request request;
    wh_error error = {.status = WH_OK};
    if (wh_web_request_read((const char *)data, size, &request, &error) != WH_OK) {
        insist(error.what[0] != '\0', "a refusal says why");
        return 0;
    }
    insist(request.action != WH_WEB_KEY || (unsigned)request.key < WH_WALK_KEY_COUNT, "a key is one of the walk's");
    insist(request.action != WH_WEB_STAND || (request.unit[0] && request.position.axle > 0), "a wheel has a unit");
    insist(request.action != WH_WEB_BIND || request.sensor[0], "a sensor has an ID");
    insist(memchr(request.unit, 0, sizeof request.unit) && memchr(request.sensor, 0, sizeof request.sensor),
           "text ends");
    insist(request.action != WH_WEB_PLAY || !isnan(request.until_s), "a time is a number");
    return 0;
}
