/* Protocol descriptors: what a kind of sensor sends, as data. Read-only for users of the library. */
#ifndef WHEELHARK_DESCRIPTOR_H
#define WHEELHARK_DESCRIPTOR_H

#include "wheelhark/log.h"
#include "wheelhark/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct wh_descriptor wh_descriptor;         /* one compiled descriptor; see protocol/descriptor_model.h */
typedef struct wh_descriptor_set wh_descriptor_set; /* an ordered collection, unique by name */

/* One complaint about a descriptor file. Lines and columns count from 1; columns count characters. */
typedef struct wh_complaint {
    char file[256];
    unsigned line, column;
    unsigned width; /* characters to underline, >= 1 */
    bool warning;   /* false: an error, the file is refused */
    char reason[256];
    char hint[160];        /* "did you mean 'manchester'?"; may be empty */
    char source_line[160]; /* the line itself (cut), for printing with a caret */
    unsigned caret;        /* column of the caret within source_line, from 1 */
} wh_complaint;

/* Called once per complaint, in file order. */
typedef void (*wh_complaint_fn)(void *context, const wh_complaint *complaint);

/* Empty set; the caller destroys it. NULL when memory is out. */
wh_descriptor_set *wh_descriptor_set_create(void);
void wh_descriptor_set_destroy(wh_descriptor_set **set);

/* Read, check and compile one file and add it. A later file with the name of an earlier one does not
 * replace it (a warning says so): search paths are given in order of precedence. On any error the set is unchanged and
 * WH_ERR_DATA (or NOT_FOUND, IO, LIMIT) is returned; all errors of the file are told to `complain`. */
wh_status wh_descriptor_set_load_file(wh_descriptor_set *set, const char *path, wh_complaint_fn complain,
                                      void *context);
/* The same from memory; `name` stands for the file in complaints. */
wh_status wh_descriptor_set_load_text(wh_descriptor_set *set, const char *name, const char *text, size_t length,
                                      wh_complaint_fn complain, void *context);
/* Every *.yaml of a folder in byte order of the file names. Goes on after a bad file and returns the
 * first failure; a folder that does not exist is WH_ERR_NOT_FOUND. */
wh_status wh_descriptor_set_load_folder(wh_descriptor_set *set, const char *folder, wh_complaint_fn complain,
                                        void *context);

size_t wh_descriptor_set_count(const wh_descriptor_set *set);
/* In order of name (bytes), so that results do not depend on load order. Owned by the set. */
const wh_descriptor *wh_descriptor_set_at(const wh_descriptor_set *set, size_t index);
const wh_descriptor *wh_descriptor_set_find(const wh_descriptor_set *set, const char *name);

const char *wh_descriptor_name(const wh_descriptor *descriptor);
const char *wh_descriptor_summary(const wh_descriptor *descriptor);
const char *wh_descriptor_path(const wh_descriptor *descriptor); /* file it came from */

#endif
