/* The actions of wheelhark descriptor that work on recordings: each in a file of its own. */
#ifndef WH_DESCRIPTOR_ACTIONS_H
#define WH_DESCRIPTOR_ACTIONS_H

#include "command.h"
#include "source.h"

typedef struct wh_descriptor_options {
    const char *place;        /* --descriptors, or NULL */
    bool watch;               /* try: again at every save */
    bool keep_ids;            /* pack: the real samples with the real IDs */
    const char *out;          /* pack: the folder */
    double noise_s;           /* conflicts: how much noise */
    wh_source_options source; /* of recordings that do not say it */
} wh_descriptor_options;

/* Operand 0 is the action itself. Each returns an exit status. */
int wh_descriptor_try(const wh_args *args, const wh_descriptor_options *options);
int wh_descriptor_conflicts(const wh_args *args, const wh_descriptor_options *options);
int wh_descriptor_pack(const wh_args *args, const wh_descriptor_options *options);

/* The one descriptor of a file, in a set of its own. Mistakes are told with their places. 0 or an exit status. */
int wh_descriptor_load_one(const char *path, wh_descriptor_set **out);

#endif
