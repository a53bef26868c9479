/* Runs a harness over the files and folders given, without a fuzzing engine. */
#include "fuzz_target.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#define BYTES_MAX (16u << 20)

/* The bytes are handed over in memory of exactly their size, so that a sanitizer sees every read beyond the end. */
static int run_file(const char *path)
{
    FILE *const file = fopen(path, "rb");
    uint8_t *const bytes = malloc(BYTES_MAX);
    if (!file || !bytes) {
        fprintf(stderr, "%s: cannot be read\n", path);
        free(bytes);
        if (file)
            fclose(file);
        return 1;
    }
    const size_t size = fread(bytes, 1, BYTES_MAX, file);
    fclose(file);
    uint8_t *const exact = realloc(bytes, size > 0 ? size : 1);
    uint8_t *const data = exact ? exact : bytes;
    printf("%s: %zu bytes\n", path, size);
    fflush(stdout); /* names the input when the harness crashes */
    LLVMFuzzerTestOneInput(data, size);
    free(data);
    return 0;
}

static int run_folder(const char *folder)
{
    struct dirent **names;
    const int count = scandir(folder, &names, NULL, alphasort);
    int failures = count < 0;
    for (int i = 0; i < count; i++) {
        char path[4096];
        struct stat info;
        snprintf(path, sizeof path, "%s/%s", folder, names[i]->d_name);
        if (stat(path, &info) == 0 && S_ISREG(info.st_mode))
            failures += run_file(path);
        free(names[i]);
    }
    if (count >= 0)
        free(names);
    return failures;
}

int main(int argc, char **argv)
{
    int failures = argc < 2;
    for (int i = 1; i < argc; i++) {
        struct stat info;
        const int is_folder = stat(argv[i], &info) == 0 && S_ISDIR(info.st_mode);
        failures += is_folder ? run_folder(argv[i]) : run_file(argv[i]);
    }
    if (argc < 2)
        fprintf(stderr, "usage: %s FILE-OR-FOLDER...\n", argv[0]);
    return failures > 0;
}
