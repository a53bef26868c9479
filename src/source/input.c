#include "input.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

const char *wh_base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

bool wh_has_suffix(const char *text, const char *suffix)
{
    const size_t length = strlen(text), end = strlen(suffix);
    return length > end && strcasecmp(text + length - end, suffix) == 0;
}

static wh_status system_error(wh_error *error, const char *name, int code)
{
    switch (code) {
    case ENOENT:
    case ENOTDIR:
        return wh_fail(error, WH_ERR_NOT_FOUND, "check the spelling and the folder", "%s: no such file", name);
    case EACCES:
    case EPERM:
        return wh_fail(error, WH_ERR_PERMISSION, "give yourself the right to read it (chmod u+r)",
                       "%s: reading is not allowed", name);
    case EINTR: return wh_fail(error, WH_ERR_IO, NULL, "%s: interrupted", name);
    default: return wh_fail(error, WH_ERR_IO, NULL, "%s: reading failed: %s", name, strerror(code));
    }
}

void wh_input_adopt(wh_input *input, int fd, const char *name)
{
    *input = (wh_input){.fd = fd};
    snprintf(input->name, sizeof input->name, "%s", name);
    struct stat info;
    if (fstat(fd, &info) == 0 && S_ISREG(info.st_mode)) {
        /* Somebody may have read the beginning already (standard input from a shell). */
        const off_t at = lseek(fd, 0, SEEK_CUR);
        input->regular = true;
        input->base = at > 0 ? (uint64_t)at : 0;
        input->size = (uint64_t)info.st_size > input->base ? (uint64_t)info.st_size - input->base : 0;
    }
}

wh_status wh_input_open(wh_input *input, const char *path, wh_error *error)
{
    *input = (wh_input){.fd = -1};
    const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (fd < 0)
        return system_error(error, path, errno);
    struct stat info;
    if (fstat(fd, &info) != 0) {
        const int code = errno;
        close(fd);
        return system_error(error, path, code);
    }
    if (S_ISDIR(info.st_mode)) {
        close(fd);
        return wh_fail(error, WH_ERR_FORMAT, "name a file in it", "%s: is a folder, not a recording", path);
    }
    wh_input_adopt(input, fd, path);
    input->owned = true;
    return WH_OK;
}

void wh_input_window(wh_input *input, uint64_t base, uint64_t size)
{
    input->base = base;
    input->size = size;
    input->position = 0;
    input->ahead_from = input->ahead_to = 0;
}

static size_t take_ahead(wh_input *input, void *bytes, size_t want)
{
    const size_t there = input->ahead_to - input->ahead_from;
    const size_t taken = want < there ? want : there;
    memcpy(bytes, input->ahead + input->ahead_from, taken);
    input->ahead_from += taken;
    input->position += taken;
    return taken;
}

/* One system call; 0 at the end. Files are read at a place of our own, so that nobody else's seek matters. */
static ssize_t read_once(wh_input *input, void *bytes, size_t want)
{
    if (!input->regular)
        return read(input->fd, bytes, want);
    const uint64_t left = input->position < input->size ? input->size - input->position : 0;
    if (want > left)
        want = (size_t)left;
    if (want == 0)
        return 0;
    return pread(input->fd, bytes, want, (off_t)(input->base + input->position));
}

wh_status wh_input_read(wh_input *input, void *bytes, size_t want, size_t *got, wh_error *error)
{
    *got = take_ahead(input, bytes, want);
    while (*got < want) {
        const ssize_t count = read_once(input, (uint8_t *)bytes + *got, want - *got);
        if (count < 0)
            return system_error(error, input->name, errno);
        if (count == 0)
            break;
        *got += (size_t)count;
        input->position += (size_t)count;
    }
    return WH_OK;
}

wh_status wh_input_read_some(wh_input *input, void *bytes, size_t want, int wait_ms, size_t *got, bool *idle,
                             wh_error *error)
{
    *idle = false;
    if (input->regular)
        return wh_input_read(input, bytes, want, got, error);
    *got = take_ahead(input, bytes, want);
    if (*got > 0)
        return WH_OK;
    struct pollfd wait = {.fd = input->fd, .events = POLLIN};
    const int ready = poll(&wait, 1, wait_ms);
    if (ready == 0 || (ready < 0 && errno == EINTR)) {
        *idle = true;
        return WH_OK;
    }
    const ssize_t count = ready < 0 ? -1 : read(input->fd, bytes, want);
    if (count < 0) {
        *idle = errno == EINTR || errno == EAGAIN;
        return *idle ? WH_OK : system_error(error, input->name, errno);
    }
    *got = (size_t)count;
    input->position += (size_t)count;
    return WH_OK;
}

wh_status wh_input_skip(wh_input *input, uint64_t count, uint64_t *passed, wh_error *error)
{
    *passed = 0;
    uint8_t piece[4096];
    while (*passed < count) {
        const uint64_t left = count - *passed;
        if (input->regular && input->ahead_from == input->ahead_to) {
            const uint64_t there = input->position < input->size ? input->size - input->position : 0;
            const uint64_t step = left < there ? left : there;
            input->position += step;
            *passed += step;
            return WH_OK;
        }
        size_t got;
        const size_t want = left < sizeof piece ? (size_t)left : sizeof piece;
        const wh_status status = wh_input_read(input, piece, want, &got, error);
        if (status != WH_OK || got == 0)
            return status;
        *passed += got;
    }
    return WH_OK;
}

wh_status wh_input_peek(wh_input *input, void *bytes, size_t want, size_t *got, wh_error *error)
{
    const uint64_t position = input->position;
    if (want > sizeof input->ahead)
        want = sizeof input->ahead;
    uint8_t seen[sizeof input->ahead];
    const wh_status status = wh_input_read(input, seen, want, got, error);
    if (status != WH_OK)
        return status;
    memcpy(bytes, seen, *got);
    memcpy(input->ahead, seen, *got);
    input->ahead_from = 0;
    input->ahead_to = *got;
    input->position = position;
    return WH_OK;
}

void wh_input_close(wh_input *input)
{
    if (input->owned && input->fd >= 0)
        close(input->fd);
    input->fd = -1;
}

wh_status wh_input_load(wh_input *input, size_t limit, char **text, size_t *length, wh_error *error)
{
    *text = NULL;
    *length = 0;
    size_t room = input->regular && input->size < limit ? (size_t)input->size + 1 : 65536;
    char *bytes = malloc(room + 1);
    while (bytes) {
        size_t got;
        const wh_status status = wh_input_read(input, bytes + *length, room - *length, &got, error);
        *length += got;
        if (status != WH_OK || *length > limit) {
            free(bytes);
            return status != WH_OK
                       ? status
                       : wh_fail(error, WH_ERR_LIMIT, NULL, "%s: longer than %zu MiB", input->name, limit >> 20);
        }
        if (*length < room) {
            bytes[*length] = '\0';
            *text = bytes;
            return WH_OK;
        }
        room *= 2;
        char *longer = realloc(bytes, room + 1);
        if (!longer)
            free(bytes);
        bytes = longer;
    }
    return wh_fail(error, WH_ERR_MEMORY, NULL, "%s: out of memory", input->name);
}
