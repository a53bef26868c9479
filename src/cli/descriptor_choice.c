#include "descriptor_choice.h"

#include "nearest_word.h"
#include "wheelhark/descriptor.h"

enum { NAMES_MAX = 1024 };

static wh_status fail_unknown(const wh_descriptor_set *set, const char *name, wh_error *error)
{
    const char *known[NAMES_MAX];
    size_t count = wh_descriptor_set_count(set);
    count = count < NAMES_MAX ? count : NAMES_MAX;
    for (size_t i = 0; i < count; i++)
        known[i] = wh_descriptor_name(wh_descriptor_set_at(set, i));
    const char *nearest = wh_nearest_word(name, known, count);
    if (nearest)
        return wh_fail(error, WH_ERR_ARGUMENT, "'wheelhark descriptor --help' tells how to list them",
                       "there is no descriptor '%s' (did you mean '%s'?)", name, nearest);
    return wh_fail(error, WH_ERR_ARGUMENT, "'wheelhark descriptor --help' tells how to list them",
                   "there is no descriptor '%s'", name);
}

static void ignore_complaint(void *context, const wh_complaint *complaint)
{
    (void)context;
    (void)complaint; /* told when the whole set was loaded */
}

wh_status wh_choose_descriptors(const char *folder_or_file, const char *const *names, size_t count,
                                wh_descriptor_set **out, wh_error *error)
{
    wh_descriptor_set *all = NULL;
    wh_status status = wh_cli_load_descriptors(folder_or_file, &all, error);
    if (status != WH_OK || count == 0) {
        *out = all;
        return status;
    }
    wh_descriptor_set *chosen = wh_descriptor_set_create();
    if (!chosen)
        status = wh_fail(error, WH_ERR_MEMORY, NULL, "out of memory");
    for (size_t i = 0; status == WH_OK && i < count; i++) {
        const wh_descriptor *descriptor = wh_descriptor_set_find(all, names[i]);
        if (!descriptor) {
            status = fail_unknown(all, names[i], error);
            continue;
        }
        const char *path = wh_descriptor_path(descriptor);
        status = wh_descriptor_set_load_file(chosen, path, ignore_complaint, NULL);
        if (status != WH_OK)
            wh_fail(error, status, "try again", "%s: changed while it was read", path);
    }
    wh_descriptor_set_destroy(&all);
    if (status != WH_OK && chosen)
        wh_descriptor_set_destroy(&chosen);
    *out = chosen;
    return status;
}
