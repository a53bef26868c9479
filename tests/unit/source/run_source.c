#include "run_source.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char folder[] = "/tmp/wheelhark-source-XXXXXX";

const char *folder_begin(void)
{
    assert_non_null(mkdtemp(folder));
    return folder;
}

void folder_end(void)
{
    DIR *list = opendir(folder);
    const struct dirent *entry;
    while (list && (entry = readdir(list)) != NULL)
        unlink(in_folder(entry->d_name));
    if (list)
        closedir(list);
    rmdir(folder);
}

const char *in_folder(const char *name)
{
    static char paths[8][400];
    static unsigned next;
    char *path = paths[next++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

void write_bytes(const char *name, const void *bytes, size_t count)
{
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, count, file), count);
    assert_int_equal(fclose(file), 0);
}

void write_text(const char *name, const char *text)
{
    write_bytes(name, text, strlen(text));
}

wh_source_options options_for(const char *target)
{
    wh_source_options options;
    wh_source_options_defaults(&options);
    options.target = target;
    return options;
}

static void take_samples(source_run *run, const wh_source_event *event)
{
    assert_true(run->stream_count > 0); /* a stretch always begins before its samples */
    assert_true(event->count > 0);
    const size_t bytes = event->count * wh_iq_bytes(run->streams[run->stream_count - 1].format);
    run->bytes = realloc(run->bytes, run->byte_count + bytes);
    assert_non_null(run->bytes);
    memcpy(run->bytes + run->byte_count, event->samples, bytes);
    run->byte_count += bytes;
    run->stream_samples[run->stream_count - 1] += event->count;
    run->largest_block = event->count > run->largest_block ? event->count : run->largest_block;
    run->blocks++;
}

void run_source(source_run *run, const wh_source_options *options)
{
    memset(run, 0, sizeof *run);
    wh_source *source = NULL;
    run->open_status = wh_source_open(options, &source, &run->error);
    if (run->open_status != WH_OK) {
        assert_null(source);
        assert_true(run->error.what[0] != '\0');
        assert_int_equal(run->error.status, run->open_status);
        return;
    }
    uint64_t done;
    wh_source_progress(source, &done, &run->total);
    run->kind = wh_source_kind(source)->name;
    for (;;) {
        wh_source_event event;
        run->end_status = wh_source_next(source, &event, &run->error);
        if (run->end_status != WH_OK || event.kind == WH_SOURCE_END)
            break;
        if (event.kind == WH_SOURCE_STREAM) {
            assert_true(run->stream_count < RUN_MAX);
            run->streams[run->stream_count++] = event.stream;
        } else if (event.kind == WH_SOURCE_SAMPLES) {
            take_samples(run, &event);
        } else if (event.kind == WH_SOURCE_NOTICE) {
            assert_true(run->notice_count < RUN_MAX);
            run->notices[run->notice_count++] = event.notice;
        }
    }
    wh_source_destroy(&source);
    assert_null(source);
}

void run_free(source_run *run)
{
    free(run->bytes);
    run->bytes = NULL;
}

bool has_notice(const source_run *run, wh_status status, const char *text)
{
    for (size_t i = 0; i < run->notice_count; i++) {
        if (run->notices[i].status == status && strstr(run->notices[i].what, text))
            return true;
    }
    return false;
}
