/* Any bytes as a WAV file. */
#include "fuzz_drain.h"
#include "fuzz_folder.h"
#include "fuzz_target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *path;
    if (!path)
        path = fuzz_path("input.wav");
    fuzz_write(path, data, size);
    wh_source_options options;
    wh_source *source;
    wh_error error;
    wh_source_options_defaults(&options);
    options.target = path;
    options.block_samples = size % 7;
    if (wh_source_open(&options, &source, &error) == WH_OK)
        fuzz_drain(source, size);
    else
        fuzz_insist(error.what[0] != '\0' && error.status != WH_OK, "every failure has words");
    return 0;
}
