#include "study.h"

#include "kind_study.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE_NEAR      0.03 /* chip rates of one kind: crystals and oscillators of sensors keep within two per cent */
#define DEVIATION_NEAR 0.2
#define ALIKE_LEAST    2 /* emissions that make a kind */

struct wh_study {
    wh_burst_store *store;
    wh_demod *demod;
    wh_shape_finder *finder;
    size_t kind_count;
    wh_frame_table kinds[WH_STUDY_KINDS_MAX];
    char missing[WH_STUDY_KINDS_MAX][WH_MISSING_SIZE];
    unsigned char stray[WH_STUDY_BURSTS_MAX];
};

wh_status wh_study_create(wh_study **out, wh_error *error)
{
    wh_error_clear(error);
    wh_study *study = calloc(1, sizeof *study);
    if (study) {
        study->store = wh_burst_store_create(error);
        study->demod = wh_demod_create();
        study->finder = wh_shape_finder_create();
    }
    if (!study || !study->store || !study->demod || !study->finder) {
        wh_study_destroy(&study);
        return wh_fail(error, WH_ERR_MEMORY, "close other programs", "not enough memory for a study");
    }
    *out = study;
    return WH_OK;
}

static void forget_kinds(wh_study *study)
{
    for (size_t k = 0; k < study->kind_count; k++)
        free(study->kinds[k].rows);
    study->kind_count = 0;
}

void wh_study_destroy(wh_study **study)
{
    if (!study || !*study)
        return;
    forget_kinds(*study);
    wh_burst_store_destroy(&(*study)->store);
    wh_demod_destroy(&(*study)->demod);
    wh_shape_finder_destroy(&(*study)->finder);
    free(*study);
    *study = NULL;
}

wh_burst_store *wh_study_store(wh_study *study)
{
    return study->store;
}

static bool look(wh_study *study)
{
    for (size_t i = 0; i < wh_burst_store_count(study->store); i++) {
        wh_study_burst *burst = wh_burst_store_at(study->store, i);
        burst->kind = -1;
        study->stray[i] = burst->skirt ? WH_STRAY_SKIRT : burst->cut ? WH_STRAY_STEADY : WH_STRAY_NO_SHAPE;
        if (burst->skirt || burst->cut || burst->shape.found)
            continue;
        const wh_baseband baseband = wh_study_baseband(burst);
        if (!wh_shape_find(study->finder, &baseband, &burst->shape))
            return false;
    }
    return true;
}

static bool alike(const wh_burst_shape *a, const wh_burst_shape *b)
{
    return a->modulation == b->modulation && fabs(a->grid.chip / b->grid.chip - 1.0) < RATE_NEAR &&
           (a->modulation == WH_MOD_OOK || fabs(a->deviation_hz - b->deviation_hz) < DEVIATION_NEAR * b->deviation_hz);
}

/* The burst with most others like it that is in no group yet. False when none is left. */
static bool next_centre(wh_study *study, const bool *grouped, size_t *centre)
{
    const size_t count = wh_burst_store_count(study->store);
    size_t most = 0;
    for (size_t i = 0; i < count; i++) {
        const wh_burst_shape *shape = &wh_burst_store_at(study->store, i)->shape;
        if (grouped[i] || !shape->found || wh_burst_store_at(study->store, i)->kind >= 0)
            continue;
        size_t like = 0;
        for (size_t j = 0; j < count; j++) {
            const wh_burst_shape *other = &wh_burst_store_at(study->store, j)->shape;
            like += !grouped[j] && other->found && alike(other, shape);
        }
        if (like > most) {
            most = like;
            *centre = i;
        }
    }
    return most > 0;
}

/* Of a burst whose shape is that of another group: may it be of this kind all the same? A grid of half chips or of two chips is the
 * commonest mistake of a single look. */
static bool may_be_mistaken(const wh_burst_shape *a, const wh_burst_shape *b)
{
    static const double ratios[] = {0.5, 2.0, 1.0 / 3.0, 3.0, 1.0};
    if (a->modulation != b->modulation)
        return false;
    for (size_t i = 0; i < sizeof ratios / sizeof ratios[0]; i++)
        if (fabs(a->grid.chip / (b->grid.chip * ratios[i]) - 1.0) < RATE_NEAR)
            return true;
    return false;
}

/* Bursts of the group first, then those in which nothing could be made out, or the wrong thing: frames of the kind may be in them. */
static size_t collect(wh_study *study, size_t centre, bool *grouped, size_t *member, size_t *with_others)
{
    const wh_burst_shape shape = wh_burst_store_at(study->store, centre)->shape;
    const size_t all = wh_burst_store_count(study->store);
    size_t count = 0;
    for (size_t i = 0; i < all; i++) {
        const wh_burst_shape *own = &wh_burst_store_at(study->store, i)->shape;
        if (grouped[i] || !own->found || !alike(own, &shape))
            continue;
        grouped[i] = true;
        study->stray[i] = WH_STRAY_ALONE;
        member[count++] = i;
    }
    *with_others = count;
    for (size_t i = 0; i < all; i++) {
        const wh_study_burst *burst = wh_burst_store_at(study->store, i);
        const bool open = !burst->skirt && !burst->cut && burst->kind < 0;
        const bool in_group = burst->shape.found && alike(&burst->shape, &shape);
        if (open && !in_group && (!burst->shape.found || may_be_mistaken(&burst->shape, &shape)))
            member[(*with_others)++] = i;
    }
    return count;
}

/* What became of the group's bursts. */
static void mark_bursts(wh_study *study, const size_t *member, size_t own, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const wh_study_burst *burst = wh_burst_store_at(study->store, member[i]);
        if (burst->kind >= 0)
            study->stray[member[i]] = WH_STRAY_NONE;
        else if (i < own && burst->shape.found)
            study->stray[member[i]] = WH_STRAY_NO_FRAME;
    }
}

static wh_status study_group(wh_study *study, const size_t *member, size_t count, size_t with_others)
{
    const wh_kind_tools tools = {study->store, study->demod};
    wh_emission_set set = {0};
    wh_kind_emissions(&tools, member, count, &set);
    wh_status status = set.failed ? WH_ERR_MEMORY : WH_OK;
    while (status == WH_OK && set.count >= ALIKE_LEAST && study->kind_count < WH_STUDY_KINDS_MAX) {
        const size_t k = study->kind_count;
        const wh_kind_outcome outcome =
            wh_kind_study(&tools, &set, member, with_others, (int)k, &study->kinds[k], study->missing[k]);
        if (outcome == WH_KIND_NOTHING)
            break;
        study->kind_count++;
        if (outcome == WH_KIND_NO_MEMORY)
            status = WH_ERR_MEMORY;
        mark_bursts(study, member, count, with_others);
    }
    wh_emission_set_free(&set);
    return status;
}

wh_status wh_study_run(wh_study *study, wh_error *error)
{
    wh_error_clear(error);
    forget_kinds(study);
    const size_t all = wh_burst_store_count(study->store);
    bool *grouped = calloc(all + 1, sizeof *grouped);
    size_t *member = calloc(all + 1, sizeof *member), centre;
    wh_status status = grouped && member && look(study) ? WH_OK : WH_ERR_MEMORY;
    while (status == WH_OK && study->kind_count < WH_STUDY_KINDS_MAX && next_centre(study, grouped, &centre)) {
        size_t with_others;
        const size_t count = collect(study, centre, grouped, member, &with_others);
        status = study_group(study, member, count, with_others);
    }
    free(grouped);
    free(member);
    return status == WH_OK ? WH_OK : wh_fail(error, status, "close other programs", "not enough memory for a study");
}

size_t wh_study_kind_count(const wh_study *study)
{
    return study->kind_count;
}

const wh_frame_table *wh_study_kind(const wh_study *study, size_t index)
{
    return &study->kinds[index];
}

wh_stray wh_study_stray(const wh_study *study, size_t burst)
{
    return (wh_stray)study->stray[burst];
}

const char *wh_study_missing(const wh_study *study, size_t kind)
{
    return study->missing[kind];
}
