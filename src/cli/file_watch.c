#include "file_watch.h"

#include <time.h>

#define LOOK_NS                                                                                                        \
    100000000L /* 0.1 s: two looks, one to see a change and one to see that it is over, are far below a second */

static bool look(const char *path, struct stat *info)
{
    return stat(path, info) == 0;
}

static bool same(const struct stat *a, const struct stat *b)
{
    return a->st_ino == b->st_ino && a->st_dev == b->st_dev && a->st_size == b->st_size &&
           a->st_mtim.tv_sec == b->st_mtim.tv_sec && a->st_mtim.tv_nsec == b->st_mtim.tv_nsec;
}

void wh_file_watch_begin(wh_file_watch *watch, const char *path)
{
    *watch = (wh_file_watch){.path = path};
    watch->there = look(path, &watch->seen);
}

void wh_file_watch_wait(wh_file_watch *watch, bool (*enough)(void))
{
    bool changed = false;
    while (!enough()) {
        const struct timespec pause = {.tv_nsec = LOOK_NS};
        struct stat now;
        const bool there = look(watch->path, &now);
        const bool other = there && !(watch->there && same(&now, &watch->seen));
        /* Half-written files change again at once: wait until one look finds what the last one found. */
        if (changed && there && !other)
            return;
        changed = changed || other;
        watch->there = there;
        if (there)
            watch->seen = now;
        nanosleep(&pause, NULL); /* a signal ends it early, which is right */
    }
}
