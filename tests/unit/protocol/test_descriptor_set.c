/* Sets of descriptors: order, names that come twice, files and folders. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_sample.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void write_file(const char *folder, const char *name, const char *text)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *const file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
    assert_int_equal(fclose(file), 0);
}

static void write_named(const char *folder, const char *file, const char *name, const char *summary)
{
    char head[160];
    snprintf(head, sizeof head, "name: %s\nsummary: %s\n", name, summary);
    char *const text = sample_with("name: sample\nsummary: Invented sensor for tests\n", head, NULL, NULL);
    write_file(folder, file, text);
    free(text);
}

static void remove_all(const char *folder, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char path[512];
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        assert_int_equal(remove(path), 0);
    }
    assert_int_equal(rmdir(folder), 0);
}

/* Files load in the order of their names, members stand in the order of theirs; the first of a name stays. */
static void test_folder(void **state)
{
    (void)state;
    char folder[] = "descriptors-XXXXXX";
    assert_non_null(mkdtemp(folder));
    static const char *const files[] = {"a.yaml", "b.yaml", "c.yaml",       "d.yaml",  "e.yaml",
                                        "f.yaml", "g.yaml", ".hidden.yaml", "note.txt"};
    /* Neither the order of writing nor its reverse is that of the names. */
    write_named(folder, "e.yaml", "zebra", "from e");
    write_named(folder, "d.yaml", "zebra", "from d");
    write_named(folder, "f.yaml", "zebra", "from f");
    write_file(folder, "c.yaml", "nonsense\n");
    write_named(folder, "b.yaml", "ant", "from b");
    write_named(folder, "a.yaml", "zebra", "from a");
    write_named(folder, "g.yaml", "zebra", "from g");
    write_file(folder, ".hidden.yaml", "nonsense\n");
    write_file(folder, "note.txt", "nonsense\n");

    sample_log *const log = calloc(1, sizeof *log);
    wh_descriptor_set *set = wh_descriptor_set_create();
    /* Goes on after the bad c.yaml and tells of it. */
    assert_int_equal(wh_descriptor_set_load_folder(set, folder, sample_note, log), WH_ERR_DATA);
    assert_int_equal(log->errors, 1);
    assert_non_null(strstr(log->items[0].file, "/c.yaml"));
    /* d, e, f and g are told that they are not used; in the sample the name stands in line 2, column 7. */
    assert_int_equal(log->count, 5);
    assert_true(log->items[1].warning);
    assert_int_equal(log->items[1].line, 2);
    assert_int_equal(log->items[1].column, 7);
    assert_non_null(strstr(log->items[1].reason, "/a.yaml"));
    assert_int_equal(wh_descriptor_set_count(set), 2);
    assert_string_equal(wh_descriptor_name(wh_descriptor_set_at(set, 0)), "ant");
    assert_string_equal(wh_descriptor_name(wh_descriptor_set_at(set, 1)), "zebra");
    assert_null(wh_descriptor_set_at(set, 2));
    assert_string_equal(wh_descriptor_summary(wh_descriptor_set_find(set, "zebra")), "from a");
    assert_non_null(strstr(wh_descriptor_path(wh_descriptor_set_find(set, "zebra")), "/a.yaml"));
    assert_null(wh_descriptor_set_find(set, "cat"));
    wh_descriptor_set_destroy(&set);
    assert_null(set);
    free(log);
    remove_all(folder, files, sizeof files / sizeof files[0]);
}

static void test_files_that_are_none(void **state)
{
    (void)state;
    char folder[] = "descriptors-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char pipe_path[512];
    snprintf(pipe_path, sizeof pipe_path, "%s/pipe.yaml", folder);
    assert_int_equal(mkfifo(pipe_path, 0600), 0);
    sample_log *const log = calloc(1, sizeof *log);
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_file(set, "no/such.yaml", sample_note, log), WH_ERR_NOT_FOUND);
    assert_int_equal(wh_descriptor_set_load_folder(set, "no/such", sample_note, log), WH_ERR_NOT_FOUND);
    assert_int_equal(wh_descriptor_set_load_file(set, folder, sample_note, log), WH_ERR_IO);
    assert_int_equal(wh_descriptor_set_load_file(set, pipe_path, sample_note, log), WH_ERR_IO); /* and does not hang */
    assert_int_equal(log->count, 3);
    assert_string_equal(log->items[0].file, "no/such.yaml");
    assert_int_equal(wh_descriptor_set_count(set), 0);
    /* Nobody has to listen. */
    assert_int_equal(wh_descriptor_set_load_file(set, "no/such.yaml", NULL, NULL), WH_ERR_NOT_FOUND);
    assert_int_equal(wh_descriptor_set_load_text(set, "x", "x", 1, NULL, NULL), WH_ERR_DATA);
    wh_descriptor_set_destroy(&set);
    free(log);
    static const char *const files[] = {"pipe.yaml"};
    remove_all(folder, files, 1);
}

static void test_too_long(void **state)
{
    (void)state;
    char folder[] = "descriptors-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char *const text = malloc(70001);
    memset(text, '#', 70000);
    text[70000] = '\0';
    write_file(folder, "long.yaml", text);
    free(text);
    wh_descriptor_set *set = wh_descriptor_set_create();
    assert_int_equal(wh_descriptor_set_load_folder(set, folder, NULL, NULL), WH_ERR_LIMIT);
    wh_descriptor_set_destroy(&set);
    static const char *const files[] = {"long.yaml"};
    remove_all(folder, files, 1);
}

/* Many members: the order holds whatever the order of loading, and a byte order mark and CR LF do not matter. */
static void test_many(void **state)
{
    (void)state;
    wh_descriptor_set *set = wh_descriptor_set_create();
    for (unsigned i = 0; i < 50; i++) {
        char head[40];
        snprintf(head, sizeof head, "name: s%02u\r\n", i * 37 % 50);
        char *const text = sample_with("name: sample\n", head, NULL, NULL);
        char *const marked = malloc(strlen(text) + 4);
        sprintf(marked, "\xEF\xBB\xBF%s", text);
        assert_int_equal(wh_descriptor_set_load_text(set, "x", marked, strlen(marked), NULL, NULL), WH_OK);
        free(marked);
        free(text);
    }
    assert_int_equal(wh_descriptor_set_count(set), 50);
    for (unsigned i = 0; i < 50; i++) {
        char name[8];
        snprintf(name, sizeof name, "s%02u", i);
        assert_string_equal(wh_descriptor_name(wh_descriptor_set_at(set, i)), name);
        assert_ptr_equal(wh_descriptor_set_find(set, name), wh_descriptor_set_at(set, i));
    }
    wh_descriptor_set_destroy(&set);
    wh_descriptor_set_destroy(&set); /* harmless */
    wh_descriptor_set_destroy(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_folder),
        cmocka_unit_test(test_files_that_are_none),
        cmocka_unit_test(test_too_long),
        cmocka_unit_test(test_many),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
