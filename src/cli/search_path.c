#include "search_path.h"

#include "command.h"
#include "complaint_print.h"
#include "wheelhark/descriptor.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool is_folder(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

static bool join(char out[WH_PATH_MAX], const char *folder, const char *rest)
{
    const int length = snprintf(out, WH_PATH_MAX, "%s/%s", folder, rest);
    return length > 0 && length < WH_PATH_MAX;
}

bool wh_data_path(char path[WH_PATH_MAX], const char *name)
{
    char folder[WH_PATH_MAX];
    /* A relative XDG_DATA_HOME is to be ignored (XDG Base Directory Specification). */
    const char *data = getenv("XDG_DATA_HOME");
    if (data && data[0] == '/')
        return join(folder, data, "wheelhark") && join(path, folder, name);
    const char *home = getenv("HOME");
    return home && home[0] == '/' && join(folder, home, ".local/share/wheelhark") && join(path, folder, name);
}

bool wh_user_folder(char folder[WH_PATH_MAX])
{
    return wh_data_path(folder, "descriptors");
}

bool wh_shipped_folder(char folder[WH_PATH_MAX])
{
    /* Beside the program: the build links the source tree's folder there. Then where an installation that was moved
     * as a whole has it, then where it was installed. */
    static const char *const places[] = {"protocols", "../share/wheelhark/protocols"};
    char program[WH_PATH_MAX];
    const ssize_t length = readlink("/proc/self/exe", program, sizeof program - 1);
    if (length > 0) {
        program[length] = '\0';
        *strrchr(program, '/') = '\0';
        for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
            if (join(folder, program, places[i]) && is_folder(folder))
                return true;
        }
    }
    snprintf(folder, WH_PATH_MAX, "%s", WH_INSTALLED_PROTOCOLS);
    return is_folder(folder);
}

static void print_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    if (!complaint->warning) /* those are for who writes the file: 'wheelhark descriptor check' shows them */
        wh_complaint_print(stderr, complaint);
}

static wh_status load_given(wh_descriptor_set *set, const char *path, wh_error *error)
{
    const wh_status status = is_folder(path) ? wh_descriptor_set_load_folder(set, path, print_complaint, NULL)
                                             : wh_descriptor_set_load_file(set, path, print_complaint, NULL);
    if (status == WH_ERR_NOT_FOUND)
        return wh_fail(error, status, "give a descriptor file or a folder of them", "%s: no such file or folder", path);
    if (status != WH_OK)
        return wh_fail(error, status, "correct the places named above, or leave the file out",
                       "%s: cannot be used as descriptors (%s)", path, wh_status_name(status));
    return WH_OK;
}

/* Folders nobody named on the command line: a bad file there must not stop the work with the good ones. */
static void load_standing(wh_descriptor_set *set, const char *folder)
{
    const wh_status status = wh_descriptor_set_load_folder(set, folder, print_complaint, NULL);
    if (status != WH_OK && status != WH_ERR_NOT_FOUND)
        fprintf(stderr, "wheelhark: going on without the bad descriptors in %s\n", folder);
}

wh_status wh_cli_load_descriptors(const char *folder_or_file, wh_descriptor_set **out, wh_error *error)
{
    *out = NULL;
    wh_descriptor_set *set = wh_descriptor_set_create();
    if (!set)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    if (folder_or_file) {
        const wh_status status = load_given(set, folder_or_file, error);
        if (status != WH_OK) {
            wh_descriptor_set_destroy(&set);
            return status;
        }
    }
    char folder[WH_PATH_MAX];
    if (wh_user_folder(folder))
        load_standing(set, folder);
    if (wh_shipped_folder(folder))
        load_standing(set, folder);
    if (wh_descriptor_set_count(set) == 0) {
        wh_descriptor_set_destroy(&set);
        return wh_fail(error, WH_ERR_NOT_FOUND, "name a folder of descriptors with --descriptors",
                       "there are no descriptors: no kind of sensor is known");
    }
    *out = set;
    return WH_OK;
}
