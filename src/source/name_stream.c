#include "name_stream.h"

#include "input.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

wh_stream wh_stream_from_options(const wh_source_options *options, const char *path)
{
    wh_stream stream = {.format = options->format,
                        .sample_rate_hz = options->sample_rate_hz,
                        .centre_hz = isnan(options->centre_hz) ? 0.0 : options->centre_hz};
    snprintf(stream.name, sizeof stream.name, "%s", wh_base_name(path));
    return stream;
}

bool wh_path_exists(const char *path)
{
    return access(path, F_OK) == 0;
}
