/* WAV files are put together byte by byte here, after the RIFF/WAVE description of IBM and Microsoft (1991), the
 * extensible format of Microsoft's "Multiple Channel Audio Data and WAVE Files" and RF64 of EBU Tech 3306. */
#include "run_source.h"

#include <stdio.h>
#include <stdlib.h>

typedef struct wav_file {
    uint8_t bytes[2000];
    size_t count;
} wav_file;

static void put(wav_file *wav, const void *bytes, size_t count)
{
    assert_true(wav->count + count <= sizeof wav->bytes);
    memcpy(wav->bytes + wav->count, bytes, count);
    wav->count += count;
}

static void put_number(wav_file *wav, uint64_t value, size_t bytes)
{
    for (size_t i = 0; i < bytes; i++) {
        const uint8_t byte = (uint8_t)(value >> 8 * i);
        put(wav, &byte, 1);
    }
}

static void put_chunk(wav_file *wav, const char *id, uint32_t size)
{
    put(wav, id, 4);
    put_number(wav, size, 4);
}

static void begin(wav_file *wav, const char *id, uint32_t riff_size)
{
    wav->count = 0;
    put_chunk(wav, id, riff_size);
    put(wav, "WAVE", 4);
}

static void put_format(wav_file *wav, unsigned tag, unsigned channels, uint32_t rate, unsigned bits)
{
    put_chunk(wav, "fmt ", 16);
    put_number(wav, tag, 2);
    put_number(wav, channels, 2);
    put_number(wav, rate, 4);
    put_number(wav, rate * channels * bits / 8, 4);
    put_number(wav, channels * bits / 8, 2);
    put_number(wav, bits, 2);
}

static void set_riff_size(wav_file *wav)
{
    const size_t size = wav->count - 8;
    for (size_t i = 0; i < 4; i++)
        wav->bytes[4 + i] = (uint8_t)(size >> 8 * i);
}

static void run_wav(source_run *run, const wav_file *wav)
{
    write_bytes("t.wav", wav->bytes, wav->count);
    wh_source_options options = options_for(in_folder("t.wav"));
    options.centre_hz = 315e6;
    run_source(run, &options);
}

static void good(const wav_file *wav, wh_iq_format format, double rate, const char *samples, size_t count)
{
    source_run run;
    run_wav(&run, wav);
    assert_int_equal(run.open_status, WH_OK);
    assert_int_equal(run.end_status, WH_OK);
    assert_string_equal(run.kind, "wav");
    assert_int_equal(run.notice_count, 0);
    assert_int_equal(run.stream_count, 1);
    assert_int_equal(run.streams[0].format, format);
    assert_true(run.streams[0].sample_rate_hz == rate);
    assert_true(run.streams[0].centre_hz == 315e6);
    assert_int_equal(run.byte_count, count);
    assert_memory_equal(run.bytes, samples, count);
    run_free(&run);
}

static void refused(const wav_file *wav, wh_status status, const char *text)
{
    source_run run;
    run_wav(&run, wav);
    assert_int_equal(run.open_status, status);
    assert_contains(run.error.what, text);
}

static void test_plain_files(void **state)
{
    (void)state;
    static const struct {
        unsigned tag, bits;
        wh_iq_format format;
    } cases[] = {{1, 8, WH_IQ_CU8}, {1, 16, WH_IQ_CI16}, {3, 32, WH_IQ_CF32}};
    for (size_t i = 0; i < 3; i++) {
        wav_file wav;
        begin(&wav, "RIFF", 0);
        put_format(&wav, cases[i].tag, 2, 1024000, cases[i].bits);
        put_chunk(&wav, "data", 16);
        put(&wav, "0123456789abcdef", 16);
        set_riff_size(&wav);
        good(&wav, cases[i].format, 1024000.0, "0123456789abcdef", 16);
    }
}

static void test_other_chunks_are_passed_over(void **state)
{
    (void)state;
    wav_file wav;
    begin(&wav, "RIFF", 0);
    put_chunk(&wav, "JUNK", 3); /* odd: one byte of padding follows */
    put(&wav, "xyz\0", 4);
    put_format(&wav, 1, 2, 250000, 16);
    put_chunk(&wav, "LIST", 4);
    put(&wav, "data", 4); /* no chunk, though it looks like one */
    put_chunk(&wav, "data", 8);
    put(&wav, "ABCDEFGH", 8);
    put_chunk(&wav, "LIST", 6);
    put(&wav, "behind", 6);
    set_riff_size(&wav);
    good(&wav, WH_IQ_CI16, 250000.0, "ABCDEFGH", 8);
}

static void test_extensible_format(void **state)
{
    (void)state;
    static const uint8_t rest[14] = {0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80,
                                     0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71};
    wav_file wav;
    begin(&wav, "RIFF", 0);
    put_format(&wav, 0xFFFE, 2, 2400000, 32);
    wav.bytes[16] = 40;
    put_number(&wav, 22, 2); /* bytes that follow */
    put_number(&wav, 32, 2); /* valid bits */
    put_number(&wav, 3, 4);  /* speakers */
    put_number(&wav, 3, 2);  /* the true tag: float */
    put(&wav, rest, sizeof rest);
    put_chunk(&wav, "data", 8);
    put(&wav, "ABCDEFGH", 8);
    set_riff_size(&wav);
    good(&wav, WH_IQ_CF32, 2400000.0, "ABCDEFGH", 8);
}

static void test_lengths_of_programs_that_stream(void **state)
{
    (void)state;
    static const uint32_t lengths[] = {0, 0xFFFFFFFFu};
    for (size_t i = 0; i < 2; i++) {
        wav_file wav;
        begin(&wav, "RIFF", lengths[i]);
        put_format(&wav, 1, 2, 250000, 8);
        put_chunk(&wav, "data", lengths[i]);
        put(&wav, "ABCDEF", 6);
        good(&wav, WH_IQ_CU8, 250000.0, "ABCDEF", 6);
    }
}

static void test_rf64_takes_its_length_from_ds64(void **state)
{
    (void)state;
    wav_file wav;
    begin(&wav, "RF64", 0xFFFFFFFFu);
    put_chunk(&wav, "ds64", 28);
    put_number(&wav, 0, 8);
    put_number(&wav, 8, 8); /* of the data */
    put_number(&wav, 2, 8);
    put_number(&wav, 0, 4);
    put_format(&wav, 1, 2, 250000, 16);
    put_chunk(&wav, "data", 0xFFFFFFFFu);
    put(&wav, "ABCDEFGHtrailing", 16);
    good(&wav, WH_IQ_CI16, 250000.0, "ABCDEFGH", 8);
}

static void test_damage_is_told_after_what_is_readable(void **state)
{
    (void)state;
    wav_file wav;
    source_run run;
    begin(&wav, "RIFF", 1000);
    put_format(&wav, 1, 2, 250000, 16);
    put_chunk(&wav, "data", 400);
    put(&wav, "ABCDEFGHIJ", 10);
    run_wav(&run, &wav);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.byte_count, 8);
    assert_true(has_notice(&run, WH_ERR_DATA, "100 samples announced, 2 there"));
    assert_true(has_notice(&run, WH_ERR_DATA, "odd length"));
    run_free(&run);

    begin(&wav, "RIFF", 0);
    put_format(&wav, 1, 2, 250000, 16);
    put_chunk(&wav, "data", 0);
    put_chunk(&wav, "LIST", 4);
    put(&wav, "text", 4); /* no samples */
    set_riff_size(&wav);  /* all lengths filled in: it is really empty */
    run_wav(&run, &wav);
    assert_int_equal(run.end_status, WH_OK);
    assert_int_equal(run.byte_count, 0);
    assert_true(has_notice(&run, WH_ERR_DATA, "holds no samples"));
}

static void test_what_is_no_iq_recording_is_refused(void **state)
{
    (void)state;
    wav_file wav;
    begin(&wav, "RIFF", 0);
    put_format(&wav, 1, 1, 250000, 16);
    refused(&wav, WH_ERR_UNSUPPORTED, "one channel");
    begin(&wav, "RIFF", 0);
    put_format(&wav, 1, 2, 250000, 24);
    refused(&wav, WH_ERR_UNSUPPORTED, "sample type");
    begin(&wav, "RIFF", 0);
    put_format(&wav, 1, 2, 48000, 16);
    put_chunk(&wav, "data", 0);
    refused(&wav, WH_ERR_UNSUPPORTED, "48000 samples per second");
    begin(&wav, "RIFF", 0);
    put_chunk(&wav, "data", 4);
    refused(&wav, WH_ERR_DATA, "before their format");
    begin(&wav, "RIFF", 0);
    put_format(&wav, 1, 2, 250000, 16);
    refused(&wav, WH_ERR_DATA, "ends at byte 36");
    wav.bytes[32] = 3; /* bytes per frame */
    refused(&wav, WH_ERR_DATA, "contradicts itself");
    begin(&wav, "RIFX", 0);
    put_format(&wav, 1, 2, 250000, 16);
    refused(&wav, WH_ERR_FORMAT, "not a WAV file");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plain_files),
        cmocka_unit_test(test_other_chunks_are_passed_over),
        cmocka_unit_test(test_extensible_format),
        cmocka_unit_test(test_lengths_of_programs_that_stream),
        cmocka_unit_test(test_rf64_takes_its_length_from_ds64),
        cmocka_unit_test(test_damage_is_told_after_what_is_readable),
        cmocka_unit_test(test_what_is_no_iq_recording_is_refused),
    };
    folder_begin();
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    folder_end();
    return failed;
}
