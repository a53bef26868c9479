/* Archives are put together here after POSIX.1-1988 (ustar) and POSIX.1-2001 (pax); one is made by the system's tar. */
#include "run_source.h"

#include <stdio.h>
#include <stdlib.h>

#define META                                                                                                           \
    "{\"global\":{\"core:datatype\":\"cu8\",\"core:sample_rate\":1e6,\"core:version\":\"1.2.0\"},"                     \
    "\"captures\":[{\"core:sample_start\":0,\"core:frequency\":315e6}],\"annotations\":[]}"

typedef struct tar_file {
    uint8_t bytes[40000];
    size_t count;
} tar_file;

static void put_header(tar_file *tar, const char *name, size_t size, char type)
{
    uint8_t block[512] = {0};
    snprintf((char *)block, 100, "%s", name);
    snprintf((char *)block + 100, 8, "%07o", 0644);
    snprintf((char *)block + 124, 12, "%011o", (unsigned)size);
    block[156] = (uint8_t)type;
    memcpy(block + 257, "ustar\00000", 8);
    memset(block + 148, ' ', 8);
    unsigned sum = 0;
    for (size_t i = 0; i < sizeof block; i++)
        sum += block[i];
    snprintf((char *)block + 148, 8, "%06o", sum);
    assert_true(tar->count + 512 <= sizeof tar->bytes);
    memcpy(tar->bytes + tar->count, block, 512);
    tar->count += 512;
}

static void put_file(tar_file *tar, const char *name, const void *bytes, size_t count, char type)
{
    put_header(tar, name, count, type);
    const size_t padded = (count + 511) / 512 * 512;
    assert_true(tar->count + padded <= sizeof tar->bytes);
    memset(tar->bytes + tar->count, 0, padded);
    memcpy(tar->bytes + tar->count, bytes, count);
    tar->count += padded;
}

static void put_end(tar_file *tar)
{
    memset(tar->bytes + tar->count, 0, 1024);
    tar->count += 1024;
}

static void run_tar(source_run *run, const tar_file *tar)
{
    write_bytes("a.sigmf", tar->bytes, tar->count);
    const wh_source_options options = options_for(in_folder("a.sigmf"));
    run_source(run, &options);
}

static uint8_t samples[1000];

static void good(const tar_file *tar)
{
    source_run run;
    run_tar(&run, tar);
    assert_int_equal(run.open_status, WH_OK);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.total, 500);
    assert_true(run.streams[0].centre_hz == 315e6);
    assert_string_equal(run.streams[0].name, "a.sigmf");
    assert_int_equal(run.byte_count, sizeof samples);
    assert_memory_equal(run.bytes, samples, sizeof samples);
    run_free(&run);
}

static void refused(const tar_file *tar, wh_status status, const char *text)
{
    source_run run;
    run_tar(&run, tar);
    assert_int_equal(run.open_status, status);
    assert_contains(run.error.what, text);
}

static void test_recording_in_either_order(void **state)
{
    (void)state;
    for (int swapped = 0; swapped < 2; swapped++) {
        tar_file tar = {.count = 0};
        put_header(&tar, "yard/", 0, '5');
        if (swapped)
            put_file(&tar, "yard/yard.sigmf-data", samples, sizeof samples, '0');
        put_file(&tar, "yard/yard.sigmf-meta", META, strlen(META), '0');
        put_file(&tar, "yard/readme.txt", "hello", 5, '0');
        if (!swapped)
            put_file(&tar, "yard/yard.sigmf-data", samples, sizeof samples, '0');
        put_end(&tar);
        good(&tar);
    }
}

static void test_long_names(void **state)
{
    (void)state;
    char name[160], record[200];
    memset(name, 'n', 140);
    snprintf(name + 140, 20, ".sigmf-meta");
    tar_file tar = {.count = 0};
    const int length = snprintf(record, sizeof record, "161 path=%s\n", name);
    assert_int_equal(length, 161); /* a pax record begins with its own length */
    put_file(&tar, "pax", record, 161, 'x');
    put_file(&tar, "cut-off", META, strlen(META), '0');
    put_file(&tar, "notes.txt", "short name", 10, '0'); /* a long name is for one member only */
    snprintf(name + 140, 20, ".sigmf-data");
    put_file(&tar, "././@LongLink", name, strlen(name) + 1, 'L');
    put_file(&tar, "cut-off", samples, sizeof samples, '0');
    put_end(&tar);
    good(&tar);
}

static void test_archive_of_the_systems_tar(void **state)
{
    (void)state;
    write_text("s.sigmf-meta", META);
    write_bytes("s.sigmf-data", samples, sizeof samples);
    char command[2000];
    snprintf(command, sizeof command, "tar -C '%s' -cf '%s' s.sigmf-meta s.sigmf-data", in_folder(""),
             in_folder("a.sigmf"));
    assert_int_equal(system(command), 0);
    const wh_source_options options = options_for(in_folder("a.sigmf"));
    source_run run;
    run_source(&run, &options);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.notice_count, 0);
    assert_memory_equal(run.bytes, samples, sizeof samples);
    run_free(&run);
}

static void test_truncated_archive_gives_what_is_there(void **state)
{
    (void)state;
    tar_file tar = {.count = 0};
    put_file(&tar, "y.sigmf-meta", META, strlen(META), '0');
    put_file(&tar, "y.sigmf-data", samples, sizeof samples, '0');
    tar.count -= 1024 - 301; /* the data were padded to 1024 bytes */
    source_run run;
    run_tar(&run, &tar);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.byte_count, 300);
    assert_true(has_notice(&run, WH_ERR_DATA, "truncated"));
    assert_true(has_notice(&run, WH_ERR_DATA, "odd length"));
    run_free(&run);
}

static void test_damaged_header_behind_the_recording(void **state)
{
    (void)state;
    tar_file tar = {.count = 0};
    put_file(&tar, "y.sigmf-meta", META, strlen(META), '0');
    put_file(&tar, "y.sigmf-data", samples, sizeof samples, '0');
    put_header(&tar, "other", 0, '0');
    tar.bytes[tar.count - 512] ^= 1;
    source_run run;
    run_tar(&run, &tar);
    assert_int_equal(run.byte_count, 1000);
    assert_true(has_notice(&run, WH_ERR_DATA, "damaged behind"));
    run_free(&run);
}

static void test_refused(void **state)
{
    (void)state;
    tar_file tar = {.count = 0};
    refused(&tar, WH_ERR_FORMAT, "too short");
    memset(tar.bytes, 0, 600);
    tar.count = 600;
    refused(&tar, WH_ERR_FORMAT, "not a tar archive");
    tar.count = 0;
    put_file(&tar, "y.sigmf-data", samples, sizeof samples, '0');
    put_end(&tar);
    refused(&tar, WH_ERR_FORMAT, "no .sigmf-meta file");
    tar.count = 0;
    put_file(&tar, "y.sigmf-meta", META, strlen(META), '0');
    put_file(&tar, "x.sigmf-data", samples, sizeof samples, '0');
    put_end(&tar);
    refused(&tar, WH_ERR_DATA, "no y.sigmf-data");
    tar.count = 0;
    put_file(&tar, "y.sigmf-meta", META, strlen(META), '0');
    put_file(&tar, "x.sigmf-meta", META, strlen(META), '0');
    put_end(&tar);
    refused(&tar, WH_ERR_UNSUPPORTED, "2 recordings");
    tar.count = 0;
    put_file(&tar, "y.sigmf-meta", "{\n{", 3, '0');
    put_end(&tar);
    refused(&tar, WH_ERR_DATA, "y.sigmf-meta: line 2, column 1");
}

int main(void)
{
    for (size_t i = 0; i < sizeof samples; i++)
        samples[i] = (uint8_t)(i * 7);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recording_in_either_order),
        cmocka_unit_test(test_long_names),
        cmocka_unit_test(test_archive_of_the_systems_tar),
        cmocka_unit_test(test_truncated_archive_gives_what_is_there),
        cmocka_unit_test(test_damaged_header_behind_the_recording),
        cmocka_unit_test(test_refused),
    };
    folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
