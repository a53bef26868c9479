#include "whole_file.h"

#include "search_path.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static wh_status fail_errno(const char *path, const char *what, wh_error *error)
{
    const int code = errno;
    const wh_status status = code == ENOENT || code == ENOTDIR                  ? WH_ERR_NOT_FOUND
                             : code == EACCES || code == EPERM || code == EROFS ? WH_ERR_PERMISSION
                                                                                : WH_ERR_IO;
    return wh_fail(error, status, NULL, "%s: %s: %s", path, what, strerror(code));
}

static wh_status read_all(FILE *file, const char *path, size_t most, char **data, size_t *length, wh_error *error)
{
    char *bytes = malloc(most + 2);
    if (!bytes)
        return wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    const size_t count = fread(bytes, 1, most + 1, file);
    wh_status status = WH_OK;
    if (ferror(file))
        status = fail_errno(path, "cannot be read", error);
    else if (count > most)
        status = wh_fail(error, WH_ERR_LIMIT, "is it the right file?", "%s: more than %zu bytes", path, most);
    if (status != WH_OK) {
        free(bytes);
        return status;
    }
    bytes[count] = '\0';
    *data = bytes;
    *length = count;
    return WH_OK;
}

wh_status wh_file_read(const char *path, size_t most, char **data, size_t *length, wh_error *error)
{
    *data = NULL;
    *length = 0;
    if (strcmp(path, "-") == 0)
        return read_all(stdin, "standard input", most, data, length, error);
    FILE *file = fopen(path, "rb");
    if (!file)
        return fail_errno(path, "cannot be opened", error);
    const wh_status status = read_all(file, path, most, data, length, error);
    fclose(file);
    return status;
}

static bool write_all(int file, const char *data, size_t length)
{
    while (length > 0) {
        const ssize_t written = write(file, data, length);
        if (written < 0 && errno != EINTR)
            return false;
        data += written > 0 ? written : 0;
        length -= written > 0 ? (size_t)written : 0;
    }
    return true;
}

/* The folder's own entry must be on the disk, too, or a power cut could bring the old name back. */
static void sync_folder(const char *path)
{
    char folder[WH_PATH_MAX];
    const char *slash = strrchr(path, '/');
    snprintf(folder, sizeof folder, "%.*s", slash ? (int)(slash - path + 1) : 1, slash ? path : ".");
    const int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file >= 0) {
        fsync(file);
        close(file);
    }
}

wh_status wh_file_replace(const char *path, const char *data, size_t length, wh_error *error)
{
    char real[WH_PATH_MAX], next[WH_PATH_MAX];
    struct stat old;
    const bool exists = stat(path, &old) == 0;
    if (exists && !S_ISREG(old.st_mode))
        return wh_fail(error, WH_ERR_IO, "name a file", "%s: cannot be written: not an ordinary file", path);
    if (!exists || !realpath(path, real))
        snprintf(real, sizeof real, "%s", path);
    const int size = snprintf(next, sizeof next, "%s.XXXXXX", real);
    if (size < 0 || (size_t)size >= sizeof next)
        return wh_fail(error, WH_ERR_IO, NULL, "%s: the path is too long", path);
    const int file = mkstemp(next);
    if (file < 0)
        return fail_errno(path, "cannot be written", error);
    const mode_t mask = umask(0);
    umask(mask);
    bool good = fchmod(file, exists ? old.st_mode & 07777 : 0666 & ~mask) == 0 && write_all(file, data, length) &&
                fsync(file) == 0;
    const int code = errno;
    good = close(file) == 0 && good;
    if (good && rename(next, real) == 0) {
        sync_folder(real);
        return WH_OK;
    }
    if (!good)
        errno = code;
    const wh_status status = fail_errno(path, "cannot be written", error);
    unlink(next);
    return status;
}

wh_status wh_make_folders(const char *path, const char *fix, wh_error *error)
{
    char folder[WH_PATH_MAX];
    for (const char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        memcpy(folder, path, (size_t)(slash - path));
        folder[slash - path] = '\0';
        if (mkdir(folder, 0700) != 0 && errno != EEXIST)
            return wh_fail(error, errno == EACCES ? WH_ERR_PERMISSION : WH_ERR_IO, fix, "%s: cannot be made: %s",
                           folder, strerror(errno));
    }
    return WH_OK;
}
