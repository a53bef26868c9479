#include "usb_node.h"

#include <dirent.h>
#include <fcntl.h>
#include <grp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

const wh_system_roots wh_system_roots_default = {.sys = "/sys", .proc = "/proc", .dev = "/dev"};

void wh_printable(char *text)
{
    for (; *text; text++) {
        if ((unsigned char)*text < ' ' || (unsigned char)*text >= 0x7F)
            *text = '?';
    }
}

/* First line of a small file; empty when it cannot be read. */
static bool first_line(const char *path, char *line, size_t room)
{
    line[0] = '\0';
    const int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return false;
    const ssize_t got = read(fd, line, room - 1);
    close(fd);
    line[got > 0 ? got : 0] = '\0';
    line[strcspn(line, "\n")] = '\0';
    wh_printable(line);
    return got > 0;
}

static bool attribute(const wh_system_roots *roots, const char *device, const char *key, char *value, size_t room)
{
    char path[512];
    snprintf(path, sizeof path, "%s/bus/usb/devices/%s/%s", roots->sys, device, key);
    return first_line(path, value, room);
}

static unsigned number(const wh_system_roots *roots, const char *device, const char *key, int radix)
{
    char text[16];
    return attribute(roots, device, key, text, sizeof text) ? (unsigned)strtoul(text, NULL, radix) : 0;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const wh_usb_node *)a)->path, ((const wh_usb_node *)b)->path);
}

size_t wh_usb_nodes(const wh_system_roots *roots, wh_usb_node *nodes, size_t room)
{
    char folder[512];
    snprintf(folder, sizeof folder, "%s/bus/usb/devices", roots->sys);
    DIR *list = opendir(folder);
    if (!list)
        return 0;
    size_t count = 0;
    const struct dirent *entry;
    while (count < room && (entry = readdir(list)) != NULL) {
        const char *name = entry->d_name;
        const unsigned address = number(roots, name, "devnum", 10);
        if (address == 0) /* "." and "..", and interfaces, which have no address of their own */
            continue;
        wh_usb_node *node = &nodes[count++];
        *node = (wh_usb_node){.vendor_id = number(roots, name, "idVendor", 16),
                              .product_id = number(roots, name, "idProduct", 16)};
        attribute(roots, name, "manufacturer", node->manufacturer, sizeof node->manufacturer);
        attribute(roots, name, "product", node->product, sizeof node->product);
        attribute(roots, name, "serial", node->serial, sizeof node->serial);
        snprintf(node->path, sizeof node->path, "%.255s/bus/usb/%03u/%03u", roots->dev,
                 number(roots, name, "busnum", 10), address);
    }
    closedir(list);
    qsort(nodes, count, sizeof *nodes, by_name); /* readdir's order is nobody's */
    return count;
}

/* Does this process have `path` open? */
static bool has_open(const wh_system_roots *roots, const char *pid, const char *path)
{
    char folder[512];
    snprintf(folder, sizeof folder, "%s/%s/fd", roots->proc, pid);
    DIR *list = opendir(folder);
    if (!list)
        return false;
    bool found = false;
    const struct dirent *entry;
    while (!found && (entry = readdir(list)) != NULL) {
        char link[800], target[512];
        snprintf(link, sizeof link, "%s/%s", folder, entry->d_name);
        const ssize_t length = readlink(link, target, sizeof target - 1);
        if (length <= 0)
            continue;
        target[length] = '\0';
        found = strcmp(target, path) == 0;
    }
    closedir(list);
    return found;
}

bool wh_usb_holder(const wh_system_roots *roots, const char *path, wh_holder *holder)
{
    DIR *list = path[0] ? opendir(roots->proc) : NULL;
    if (!list)
        return false;
    bool found = false;
    const struct dirent *entry;
    while (!found && (entry = readdir(list)) != NULL) {
        char *end;
        const long pid = strtol(entry->d_name, &end, 10);
        if (pid <= 0 || *end || pid == (long)getpid() || !has_open(roots, entry->d_name, path))
            continue;
        found = true;
        holder->pid = pid;
        char comm[512];
        snprintf(comm, sizeof comm, "%s/%ld/comm", roots->proc, pid);
        if (!first_line(comm, holder->program, sizeof holder->program))
            snprintf(holder->program, sizeof holder->program, "a program");
    }
    closedir(list);
    return found;
}

bool wh_usb_may_use(const char *path, char *group, size_t room)
{
    snprintf(group, room, "plugdev"); /* what Debian's rule for these dongles gives */
    struct stat info;
    if (!path[0] || access(path, R_OK | W_OK) == 0 || stat(path, &info) != 0)
        return true;
    struct group entry, *found = NULL;
    char buffer[4096];
    if (info.st_gid != 0 && getgrgid_r(info.st_gid, &entry, buffer, sizeof buffer, &found) == 0 && found)
        snprintf(group, room, "%s", found->gr_name);
    return false;
}
