/* wheelhark study: what the bits of each kind mean, the table of known truth, and the draft. */
#ifndef WH_STUDY_FIELDS_H
#define WH_STUDY_FIELDS_H

#include "command.h"
#include "study.h"
#include "study_page.h"
#include "text_buffer.h"
#include "truth.h"

typedef struct wh_study_fields_options {
    const char *truth; /* file; NULL: none */
    const char *draft; /* file to write; NULL: none */
    size_t kind;       /* to draft, from 1; 0: the first that has frames */
} wh_study_fields_options;

typedef struct wh_study_fields {
    const wh_study_fields_options *options;
    wh_study *study;     /* set by the caller before telling */
    wh_study_page *page; /* likewise; NULL: none is made */
    const char **recordings;
    size_t recording_count;
    bool has_truth, drafted;
    wh_truth truth;
} wh_study_fields;

/* Read the truth and look whether a draft can be written where it is to be. Each returns the exit status, 0 for good. */
int wh_study_fields_begin(wh_study_fields *fields, const wh_study_fields_options *options, const wh_args *args);
/* Study the fields of a kind, tell about them (text may be NULL), and write the draft if it is the one. */
int wh_study_fields_tell(wh_study_fields *fields, size_t kind, wh_text *text);
/* Was the wanted draft written? */
int wh_study_fields_finish(const wh_study_fields *fields);
void wh_study_fields_end(wh_study_fields *fields);

#endif
