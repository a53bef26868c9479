#include "sweep_bursts.h"

#include "whole_file.h"

#include <stdio.h>
#include <stdlib.h>

#define PATH_SIZE 1200

struct wh_sweep_bursts {
    char folder[1024];
    unsigned kept;
};

wh_sweep_bursts *wh_sweep_bursts_create(const char *folder)
{
    wh_sweep_bursts *bursts = calloc(1, sizeof *bursts);
    if (bursts)
        snprintf(bursts->folder, sizeof bursts->folder, "%s", folder);
    return bursts;
}

void wh_sweep_bursts_destroy(wh_sweep_bursts **bursts)
{
    free(*bursts);
    *bursts = NULL;
}

const char *wh_sweep_bursts_folder(const wh_sweep_bursts *bursts)
{
    return bursts ? bursts->folder : "";
}

wh_status wh_sweep_bursts_keep(wh_sweep_bursts *bursts, const wh_burst_cut *cut, const char *name, bool *kept,
                               wh_error *error)
{
    *kept = false;
    if (bursts->kept >= WH_SWEEP_BURSTS_MOST)
        return WH_OK;
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/%.60s.sigmf-data", bursts->folder, name);
    wh_status status = wh_make_folders(path, NULL, error);
    if (status == WH_OK)
        status = wh_file_replace(path, cut->samples, wh_burst_cut_bytes(cut), error);
    wh_text meta = {0};
    wh_burst_cut_meta(&meta, cut, "wheelhark sweep", "unknown kind");
    snprintf(path, sizeof path, "%s/%.60s.sigmf-meta", bursts->folder, name);
    if (status == WH_OK)
        status = meta.failed ? wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory")
                             : wh_file_replace(path, meta.data, meta.length, error);
    wh_text_free(&meta);
    bursts->kept += status == WH_OK;
    *kept = status == WH_OK;
    return status;
}
