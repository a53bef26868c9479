/* How a walk is shown: as lines, or as a board that fills the terminal. */
#ifndef WH_SWEEP_SHOW_H
#define WH_SWEEP_SHOW_H

#include "sweep_insight.h"
#include "sweep_options.h"
#include "sweep_run.h"
#include "text_buffer.h"

/* What there is to show. */
typedef struct wh_sweep_scene {
    const wh_sweep_options *options;
    const wh_roster *roster;
    const wh_sweep *sweep;
    wh_sweep_run *run;
    wh_sweep_insights *insights;
    int64_t now_us;
    double centre_hz;
    char source[128]; /* empty: nothing is heard now */
    char word[160];   /* the last thing that was said */
    void *page;       /* of whoever shows it; the others leave it alone */
} wh_sweep_scene;

typedef struct wh_sweep_show {
    /* An event happened; it is in the sweep already, and on the disk. */
    void (*event)(wh_sweep_scene *scene, const wh_event *event);
    /* Something to tell; also in scene->word. */
    void (*say)(wh_sweep_scene *scene);
    /* Some time has passed. */
    void (*tick)(wh_sweep_scene *scene);
    void (*begin)(wh_sweep_scene *scene);
    void (*end)(wh_sweep_scene *scene);
} wh_sweep_show;

extern const wh_sweep_show wh_sweep_lines, wh_sweep_board;

/* Is it a terminal that can take a board? */
bool wh_sweep_board_able(const wh_sweep_options *options);

/* Pieces that both use. */
/* "612 kPa, 18 C" (pressure is gauge), or why there is no number. */
void wh_sweep_values_text(wh_text *text, const wh_sweep_options *options, const wh_heard *heard);
/* What to do at the wheel now, one or two sentences. */
void wh_sweep_advice_text(wh_text *text, const wh_sweep_scene *scene, const wh_stop *stop, const wh_seat *seat);
/* What is known of a wheel: "0A1B2C3D as recorded, sure", "nothing heard yet" ... */
void wh_sweep_seat_text(wh_text *text, const wh_wheel *wheel, const wh_seat *seat);
/* The keys, one line. */
extern const char wh_sweep_keys_text[];

#endif
