/* Descriptors from files and folders. */
#include "wheelhark/descriptor.h"
#include "yaml_tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FILES_MAX 4096 /* of one folder */

static wh_status status_of(int error)
{
    return error == ENOENT || error == ENOTDIR ? WH_ERR_NOT_FOUND
           : error == EACCES || error == EPERM ? WH_ERR_PERMISSION
           : error == ENOMEM                   ? WH_ERR_MEMORY
                                               : WH_ERR_IO;
}

/* Up to `capacity` bytes of an open file. */
static wh_status read_bytes(int file, char *bytes, size_t capacity, size_t *length)
{
    *length = 0;
    while (*length < capacity) {
        const ssize_t got = read(file, bytes + *length, capacity - *length);
        if (got == 0)
            return WH_OK;
        if (got > 0)
            *length += (size_t)got;
        else if (errno != EINTR)
            return status_of(errno);
    }
    return WH_OK;
}

/* Open for reading; O_NONBLOCK so that a pipe without a writer does not block for ever. */
static wh_status open_file(const char *path, int *file)
{
    struct stat info;
    *file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (*file < 0)
        return status_of(errno);
    if (fstat(*file, &info) == 0 && S_ISREG(info.st_mode))
        return WH_OK;
    close(*file);
    return WH_ERR_IO;
}

/* A file that cannot be read has no lines to quote; the complaint stands at its start. */
static void complain_about_file(const char *path, wh_status status, wh_complaint_fn complain, void *context)
{
    wh_complaint complaint = {.line = 1, .column = 1, .width = 1, .caret = 1};
    if (!complain)
        return;
    snprintf(complaint.file, sizeof complaint.file, "%s", path);
    snprintf(complaint.reason, sizeof complaint.reason, "the file cannot be read: %s",
             status == WH_ERR_NOT_FOUND    ? "there is none of this name"
             : status == WH_ERR_PERMISSION ? "no permission"
             : status == WH_ERR_MEMORY     ? "out of memory"
                                           : "it is not an ordinary file, or reading failed");
    complain(context, &complaint);
}

wh_status wh_descriptor_set_load_file(wh_descriptor_set *set, const char *path, wh_complaint_fn complain, void *context)
{
    int file;
    size_t length = 0;
    char *const text = malloc(WH_YAML_BYTES_MAX + 1);
    if (!text)
        return WH_ERR_MEMORY;
    wh_status status = open_file(path, &file);
    if (status == WH_OK) {
        /* One byte more than allowed: then the parser sees that it is too long. */
        status = read_bytes(file, text, WH_YAML_BYTES_MAX + 1, &length);
        close(file);
    }
    if (status == WH_OK)
        status = wh_descriptor_set_load_text(set, path, text, length, complain, context);
    else
        complain_about_file(path, status, complain, context);
    free(text);
    return status;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool is_descriptor_name(const char *name)
{
    const size_t length = strlen(name);
    return name[0] != '.' && length > 5 && strcmp(name + length - 5, ".yaml") == 0;
}

/* The names of a folder's descriptor files, sorted. The caller frees them, also after a failure. */
static wh_status list_folder(const char *folder, char **names, size_t *count)
{
    *count = 0;
    DIR *const directory = opendir(folder);
    if (!directory)
        return status_of(errno);
    wh_status status = WH_OK;
    for (struct dirent *entry; status == WH_OK && (entry = readdir(directory));) {
        if (!is_descriptor_name(entry->d_name))
            continue;
        if (*count == FILES_MAX) {
            status = WH_ERR_LIMIT;
        } else {
            names[*count] = strdup(entry->d_name);
            status = names[*count] ? WH_OK : WH_ERR_MEMORY;
            *count += names[*count] != NULL;
        }
    }
    closedir(directory);
    qsort(names, *count, sizeof *names, compare_names);
    return status;
}

wh_status wh_descriptor_set_load_folder(wh_descriptor_set *set, const char *folder, wh_complaint_fn complain,
                                        void *context)
{
    size_t count;
    char **const names = calloc(FILES_MAX, sizeof *names);
    if (!names)
        return WH_ERR_MEMORY;
    wh_status first_failure = list_folder(folder, names, &count);
    for (size_t i = 0; i < count; i++) {
        char path[4096];
        const int length = snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        const wh_status status = length < 0 || (size_t)length >= sizeof path
                                     ? WH_ERR_LIMIT
                                     : wh_descriptor_set_load_file(set, path, complain, context);
        if (first_failure == WH_OK)
            first_failure = status;
        free(names[i]);
    }
    free(names);
    return first_failure;
}
