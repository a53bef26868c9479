#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "descriptor_sample.h"

#include <stdlib.h>
#include <string.h>

const char *const sample_text = "wheelhark descriptor: 1\n"
                                "name: sample\n"
                                "summary: Invented sensor for tests\n"
                                "provenance: {kind: invented, note: made up}\n"
                                "radio:\n"
                                "  carriers: [433.92 MHz, 315 MHz]\n"
                                "  modulation: fsk\n"
                                "  chip rate: 20 kchip/s\n"
                                "  deviation: 40 kHz\n"
                                "line:\n"
                                "  code: manchester\n"
                                "  one: high-low\n"
                                "frame:\n"
                                "  preamble: {bits: \"1\", repeats: 20}\n"
                                "  sync: {chips: \"1111000011\"}\n"
                                "  payload: 80 bits\n"
                                "copies: {count: 3, gap: 50 ms}\n"
                                "checks:\n"
                                "  - kind: crc\n"
                                "    name: frame check\n"
                                "    width: 8 bits\n"
                                "    polynomial: 0x07\n"
                                "    over: {from: 0, bits: 72}\n"
                                "    place: {from: 72, bits: 8}\n"
                                "fields:\n"
                                "  - {name: sensor, role: sensor, place: {from: 0, bits: 32}}\n"
                                "  - name: pressure\n"
                                "    role: pressure\n"
                                "    place: {from: 32, bits: 8}\n"
                                "    scale: 2.5 kPa\n"
                                "    offset: 100 kPa\n"
                                "    reference: absolute\n"
                                "    plausible: {least: 90 kPa, most: 1500 kPa}\n"
                                "    codes:\n"
                                "      - {raw: 0xFF, means: fault, text: sensor error}\n"
                                "      - {raw: {from: 0xF0, to: 0xFE}, means: not available}\n"
                                "  - name: temperature\n"
                                "    role: temperature\n"
                                "    place: {from: 40, bits: 8}\n"
                                "    scale: 1 degC\n"
                                "    offset: -40 degC\n"
                                "  - name: battery\n"
                                "    role: value\n"
                                "    place: {from: 48, bits: 2}\n"
                                "    unit: V\n"
                                "    table: {values: [2.1 V, 2.2 V, fault, 3 V]}\n"
                                "  - name: motion\n"
                                "    role: value\n"
                                "    place: {from: 50, bits: 2}\n"
                                "    codes: [{raw: 0, means: state, text: parked}]\n"
                                "  - {name: battery low, role: flag, place: {from: 52, bits: 1}}\n"
                                "  - {name: family, role: constant, place: {from: 53, bits: 3}, value: 0b101}\n"
                                "examples:\n"
                                "  - frame: {hex: 0A1B2C3D 5A3A4500 00A4, bits: 80}\n"
                                "    expect:\n"
                                "      sensor: 0A1B2C3D\n"
                                "      pressure: 325 kPa absolute\n"
                                "      temperature: 18 degC\n"
                                "      battery: 2.2 V\n"
                                "      motion: parked\n"
                                "      battery low: no\n";

void sample_note(void *context, const wh_complaint *complaint)
{
    sample_log *const log = context;
    assert_true(log->count < SAMPLE_COMPLAINTS_MAX);
    log->items[log->count++] = *complaint;
    log->errors += !complaint->warning;
}

char *sample_change(const char *before, const char *old, const char *new, unsigned *line, unsigned *column)
{
    const char *const place = strstr(before, old);
    assert_non_null(place);
    char *const text = malloc(strlen(before) + strlen(new) + 1);
    assert_non_null(text);
    size_t used = (size_t)(place - before);
    memcpy(text, before, used);
    for (const char *c = new; *c; c++) {
        if (*c != '@') {
            text[used++] = *c;
            continue;
        }
        unsigned lines = 1, columns = 1;
        for (size_t i = 0; i < used; i++) {
            columns = text[i] == '\n' ? 1 : columns + 1;
            lines += text[i] == '\n';
        }
        if (line && column) {
            *line = lines;
            *column = columns;
        }
    }
    strcpy(text + used, place + strlen(old));
    return text;
}

char *sample_with(const char *old, const char *new, unsigned *line, unsigned *column)
{
    return sample_change(sample_text, old, new, line, column);
}

wh_descriptor_set *sample_load(const char *text, sample_log *log, wh_status *status)
{
    wh_descriptor_set *const set = wh_descriptor_set_create();
    assert_non_null(set);
    memset(log, 0, sizeof *log);
    *status = wh_descriptor_set_load_text(set, "sample.yaml", text, strlen(text), sample_note, log);
    return set;
}
