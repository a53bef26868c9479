/* A folder for harnesses whose code under test opens files by name; removed when the program ends. */
#ifndef WH_FUZZ_FOLDER_H
#define WH_FUZZ_FOLDER_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char fuzz_folder[] = "/tmp/wheelhark-fuzz-XXXXXX";
static char fuzz_paths[4][64];
static unsigned fuzz_path_count;

static inline void fuzz_folder_remove(void)
{
    for (unsigned i = 0; i < fuzz_path_count; i++)
        unlink(fuzz_paths[i]);
    rmdir(fuzz_folder);
}

/* The path of a file of this name; asked for once per name. */
static inline const char *fuzz_path(const char *name)
{
    if (fuzz_path_count == 0) {
        if (!mkdtemp(fuzz_folder))
            abort();
        atexit(fuzz_folder_remove);
    }
    char *path = fuzz_paths[fuzz_path_count++];
    snprintf(path, sizeof fuzz_paths[0], "%s/%s", fuzz_folder, name);
    return path;
}

static inline void fuzz_write(const char *path, const uint8_t *bytes, size_t count)
{
    FILE *const file = fopen(path, "wb");
    if (!file || fwrite(bytes, 1, count, file) != count || fclose(file) != 0)
        abort();
}

#endif
