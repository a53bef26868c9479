/* What the YAML scanner says, in words for people. */
#ifndef WH_YAML_PROBLEM_H
#define WH_YAML_PROBLEM_H

#include <stdbool.h>

typedef struct wh_yaml_problem {
    const char *reason;
    const char *hint;  /* may be NULL */
    bool at_construct; /* point to where the quoted text, list or map begins and not to where the scanner stopped */
} wh_yaml_problem;

/* `problem` is the scanner's own text (may be NULL); it comes back as the reason when it is not a known one. */
wh_yaml_problem wh_yaml_problem_of(const char *problem);

#endif
