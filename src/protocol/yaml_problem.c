#include "yaml_problem.h"

#include <stddef.h>
#include <string.h>

static const struct {
    const char *problem;
    wh_yaml_problem meaning;
} meanings[] = {
    {"mapping values are not allowed in this context",
     {"a second ': ' in one line, or a wrongly indented key",
      "put a text that contains ': ' in quotes; align keys of one map", false}},
    {"found character that cannot start any token",
     {"a value cannot begin with this character", "put the text in quotes", false}},
    {"could not find expected ':'",
     {"a key without ': ' after it, at or before this place", "write 'key: value'", false}},
    {"did not find expected key",
     {"this line does not fit the lines before it", "align keys of one map; end texts with their quote", false}},
    {"did not find expected '-' indicator",
     {"this line does not fit the list before it", "begin entries with '- '", false}},
    {"did not find expected ',' or '}'",
     {"the map in { } that begins here is not closed, or lacks a comma", NULL, true}},
    {"did not find expected ',' or ']'",
     {"the list in [ ] that begins here is not closed, or lacks a comma", NULL, true}},
    {"found unexpected end of stream", {"a quoted text that begins here is not closed", "close the quote", true}},
    {"block sequence entries are not allowed in this context",
     {"a list cannot begin in the line of its key", "begin the list in a line of its own", false}},
    {"found unknown escape character",
     {"an unknown escape sequence in a text in double quotes", "use single quotes around texts with a backslash",
      false}},
    {"found undefined tag handle", {"tags (!name) are not accepted", "leave the tag out", false}},
    {"did not find expected <document start>", {"text outside of the document", "one document in a file", false}},
};

wh_yaml_problem wh_yaml_problem_of(const char *problem)
{
    for (size_t i = 0; problem && i < sizeof meanings / sizeof meanings[0]; i++) {
        if (strcmp(problem, meanings[i].problem) == 0)
            return meanings[i].meaning;
    }
    return (wh_yaml_problem){problem ? problem : "the text is not YAML", NULL, false};
}
