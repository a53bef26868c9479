/* Everything a study found on one HTML page that needs nothing else: no script, no other file. */
#ifndef WH_STUDY_PAGE_H
#define WH_STUDY_PAGE_H

#include "field_study.h"
#include "spectrogram.h"
#include "study.h"

typedef struct wh_study_page wh_study_page;

#define WH_PAGE_SPECTROGRAMS_MAX 16  /* recordings with a picture of their own */
#define WH_PAGE_BURSTS_MAX       200 /* rows of the table of bursts */

wh_study_page *wh_study_page_create(void); /* NULL when memory is out */
void wh_study_page_destroy(wh_study_page **page);
/* The next recording begins. NULL: it gets no spectrogram (there are enough, or no memory for one). Else owned by the page; the
 * recording's samples are pushed to it. */
wh_spectrogram *wh_study_page_recording(wh_study_page *page);
/* A kind: tables as text, pictures beside them. `fields` may be NULL; `fields_text` is what was told about them, or NULL. */
void wh_study_page_kind(wh_study_page *page, wh_study *study, size_t kind, const wh_field_study *fields,
                        const char *fields_text);
/* After all kinds. */
void wh_study_page_write(wh_study_page *page, wh_study *study, wh_text *html);

#endif
