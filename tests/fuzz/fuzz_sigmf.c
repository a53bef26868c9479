/* Any bytes as SigMF metadata beside 64 bytes of data, and as a SigMF archive. */
#include "fuzz_drain.h"
#include "fuzz_folder.h"
#include "fuzz_target.h"
#include "sigmf_meta.h"

#define DATA_BYTES 64

static void check_meta(const uint8_t *data, size_t size)
{
    wh_sigmf_meta meta;
    wh_error error;
    wh_notices notices = {.count = 0};
    wh_error_clear(&error);
    const wh_status status =
        wh_sigmf_meta_parse((const char *)data, size, "input.sigmf-meta", NULL, &meta, &notices, &error);
    fuzz_insist(status == error.status, "the error tells the status");
    if (status != WH_OK) {
        fuzz_insist(meta.captures == NULL, "nothing is left to free");
        return;
    }
    for (size_t i = 1; i < meta.capture_count; i++)
        fuzz_insist(meta.captures[i - 1].sample_start < meta.captures[i].sample_start, "captures in order");
    fuzz_insist(!meta.has_sha512 || strlen(meta.sha512) == 128, "a whole hash");
    fuzz_insist(strchr(meta.dataset, '/') == NULL, "a file of the same folder");
    wh_sigmf_meta_free(&meta);
}

static void open_and_drain(const char *path, uint64_t bytes_max)
{
    wh_source_options options;
    wh_source *source;
    wh_error error;
    wh_source_options_defaults(&options);
    options.target = path;
    options.block_samples = 5;
    if (wh_source_open(&options, &source, &error) == WH_OK)
        fuzz_drain(source, bytes_max);
    else
        fuzz_insist(error.what[0] != '\0' && error.status != WH_OK, "every failure has words");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *meta_path, *data_path, *archive_path;
    if (!meta_path) {
        static const uint8_t samples[DATA_BYTES];
        meta_path = fuzz_path("r.sigmf-meta");
        data_path = fuzz_path("r.sigmf-data");
        archive_path = fuzz_path("a.sigmf");
        fuzz_write(data_path, samples, sizeof samples);
    }
    check_meta(data, size);
    fuzz_write(meta_path, data, size);
    /* core:dataset may name the metadata file itself. */
    open_and_drain(meta_path, size > DATA_BYTES ? size : DATA_BYTES);
    fuzz_write(archive_path, data, size);
    open_and_drain(archive_path, size);
    return 0;
}
