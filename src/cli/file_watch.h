/* Waiting until a file is saved. Polled: editors save in many ways (in place, or another file moved over it), some file systems
 * announce nothing, and ten looks a second cost nothing. */
#ifndef WH_FILE_WATCH_H
#define WH_FILE_WATCH_H

#include <stdbool.h>
#include <sys/stat.h>

typedef struct wh_file_watch {
    const char *path;
    bool there;
    struct stat seen;
} wh_file_watch;

/* `path` must outlive the watch. What is there now counts as seen. */
void wh_file_watch_begin(wh_file_watch *watch, const char *path);
/* Until the file is another one and has stayed so for a moment, or until enough() is true: looked at ten times a second. */
void wh_file_watch_wait(wh_file_watch *watch, bool (*enough)(void));

#endif
