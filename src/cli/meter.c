#include "meter.h"

#include "progress.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void wh_meter_begin(wh_meter *meter, bool wanted)
{
    const char *terminal = getenv("TERM");
    const bool able = isatty(STDERR_FILENO) && terminal && strcmp(terminal, "dumb") != 0;
    *meter = (wh_meter){.able = able, .wanted = wanted && able, .begun_s = now_s()};
}

double wh_meter_seconds(const wh_meter *meter)
{
    return now_s() - meter->begun_s;
}

static unsigned terminal_columns(void)
{
    struct winsize size;
    return ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

void wh_meter_show(wh_meter *meter, const char *name, uint64_t done, uint64_t total)
{
    if (!meter->wanted || total == 0)
        return;
    const double now = now_s();
    if (now - meter->begun_s < 1.0 || now - meter->drawn_s < 0.2)
        return;
    wh_text line = {0};
    wh_progress_line(&line, name, done, total, terminal_columns() - 1);
    if (line.data)
        fprintf(stderr, "\r%s\x1b[K", line.data);
    wh_text_free(&line);
    meter->visible = true;
    meter->drawn_s = now;
}

unsigned wh_meter_note_columns(const wh_meter *meter)
{
    return meter->able ? terminal_columns() - 1 : 0;
}

void wh_meter_note(wh_meter *meter, const char *note)
{
    fprintf(stderr, "\r%s\x1b[K", note);
    meter->visible = true;
}

void wh_meter_hide(wh_meter *meter)
{
    if (!meter->visible)
        return;
    fputs("\r\x1b[K", stderr);
    meter->visible = false;
}
