/* What is said on stderr. */
#ifndef WH_TALK_H
#define WH_TALK_H

/* `head`, `text` and a line end. Control characters of `text` become '?': file names and pieces of files get into
 * messages, and nothing in them may steer the terminal. */
void wh_talk(const char *head, const char *text);

#endif
