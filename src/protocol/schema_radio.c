#include "schema.h"
#include "schema_value.h"

#include <stdio.h>
#include <string.h>

/* What usual tuner chips reach (R820T: 24 to 1766 MHz). */
#define CARRIER_LEAST_HZ   24e6
#define CARRIER_MOST_HZ    1766e6
#define CHIP_RATE_LEAST_HZ 1e3
#define CHIP_RATE_MOST_HZ  50e3

static void read_carriers(wh_loading *loading, const wh_yaml_node *node)
{
    wh_descriptor *const descriptor = loading->descriptor;
    if (!wh_value_list(loading->complaints, node, WH_CARRIERS_MAX))
        return;
    for (const wh_yaml_node *entry = node->first; entry; entry = entry->next) {
        double carrier;
        if (wh_value_quantity(loading->complaints, entry, WH_DIM_FREQUENCY, CARRIER_LEAST_HZ, CARRIER_MOST_HZ,
                              &carrier))
            descriptor->carriers_hz[descriptor->carrier_count++] = carrier;
    }
}

static void read_chip_length(wh_loading *loading, const wh_yaml_node *node)
{
    double length;
    if (wh_value_quantity(loading->complaints, node, WH_DIM_DURATION, 1 / CHIP_RATE_MOST_HZ, 1 / CHIP_RATE_LEAST_HZ,
                          &length)) {
        loading->rate_hz = 1 / length;
        loading->rate_kind = WH_RATE_CHIPS;
    }
}

/* Exactly one of the three ways to give the speed. */
static void read_rate(wh_loading *loading, const wh_yaml_node *radio)
{
    wh_complaints *const complaints = loading->complaints;
    const wh_yaml_node *const chip_rate = wh_yaml_find(radio, "chip rate");
    const wh_yaml_node *const bit_rate = wh_yaml_find(radio, "bit rate");
    const wh_yaml_node *const chip_length = wh_yaml_find(radio, "chip length");
    const int given = (chip_rate != NULL) + (bit_rate != NULL) + (chip_length != NULL);
    loading->rate_node = chip_rate ? chip_rate : bit_rate ? bit_rate : chip_length;
    if (given == 0)
        wh_complain(complaints, (wh_span){radio->start, 1}, NULL,
                    "radio needs one of the keys 'chip rate', 'bit rate' and 'chip length'");
    else if (given > 1)
        wh_complain(complaints, wh_yaml_span(loading->rate_node->key), "keep one of them",
                    "more than one of 'chip rate', 'bit rate' and 'chip length'");
    else if (chip_length)
        read_chip_length(loading, chip_length);
    else if (chip_rate && wh_value_quantity(complaints, chip_rate, WH_DIM_CHIP_RATE, CHIP_RATE_LEAST_HZ,
                                            CHIP_RATE_MOST_HZ, &loading->rate_hz))
        loading->rate_kind = WH_RATE_CHIPS;
    else if (bit_rate &&
             wh_value_quantity(complaints, bit_rate, WH_DIM_BIT_RATE, 1, CHIP_RATE_MOST_HZ, &loading->rate_hz))
        loading->rate_kind = WH_RATE_BITS;
}

static void read_fsk(wh_loading *loading, const wh_yaml_node *radio)
{
    static const char *const tones[] = {"higher tone", "lower tone"};
    wh_complaints *const complaints = loading->complaints;
    wh_radio *const out = &loading->descriptor->radio;
    unsigned tone;
    wh_value_quantity(complaints, wh_value_need(complaints, radio, "radio with FSK", "deviation"), WH_DIM_FREQUENCY,
                      5e3, 80e3, &out->deviation_hz);
    wh_value_quantity(complaints, wh_yaml_find(radio, "deviation tolerance"), WH_DIM_RATIO, 0, 0.5,
                      &out->deviation_tolerance);
    if (wh_value_choice(complaints, wh_yaml_find(radio, "chip one"), "tone", WH_WORDS_OF(tones), &tone))
        out->low_tone_is_one = tone == 1;
}

void wh_schema_radio(wh_loading *loading, const wh_yaml_node *node)
{
    static const char *const keys[] = {
        "carriers",    "carrier tolerance", "modulation", "chip rate",           "bit rate",
        "chip length", "rate tolerance",    "deviation",  "deviation tolerance", "chip one"};
    static const char *const modulations[] = {"fsk", "ook"};
    static const char *const fsk_keys[] = {"deviation", "deviation tolerance", "chip one"};
    wh_complaints *const complaints = loading->complaints;
    wh_descriptor *const descriptor = loading->descriptor;
    unsigned modulation;
    if (!wh_value_map(complaints, node, "radio", WH_WORDS_OF(keys)))
        return;
    read_carriers(loading, wh_value_need(complaints, node, "radio", "carriers"));
    wh_value_quantity(complaints, wh_yaml_find(node, "carrier tolerance"), WH_DIM_FREQUENCY, 1e3, 250e3,
                      &descriptor->carrier_tolerance_hz);
    wh_value_quantity(complaints, wh_yaml_find(node, "rate tolerance"), WH_DIM_RATIO, 0, 0.1,
                      &descriptor->radio.rate_tolerance);
    read_rate(loading, node);
    if (!wh_value_choice(complaints, wh_value_need(complaints, node, "radio", "modulation"), "modulation",
                         WH_WORDS_OF(modulations), &modulation))
        return;
    descriptor->radio.modulation = modulation == 0 ? WH_MOD_FSK : WH_MOD_OOK;
    if (descriptor->radio.modulation == WH_MOD_FSK)
        read_fsk(loading, node);
    else
        wh_value_forbid(complaints, node, "radio with on-off keying", WH_WORDS_OF(fsk_keys));
}

void wh_schema_rate(wh_loading *loading)
{
    wh_descriptor *const descriptor = loading->descriptor;
    const wh_line_spec *const line = &descriptor->line;
    double chips_per_bit = 1;
    if (loading->rate_kind == WH_RATE_NONE)
        return;
    if (loading->rate_kind == WH_RATE_BITS) {
        if (line->kind == WH_LINE_PULSE_WIDTH && line->one_count != line->zero_count) {
            wh_complain(loading->complaints, wh_yaml_span(loading->rate_node->key), "give the chip rate or chip length",
                        "ones and zeros have different lengths, so there is no one bit rate");
            return;
        }
        if (line->kind == WH_LINE_PULSE_WIDTH)
            chips_per_bit = line->one_count > 0 ? line->one_count : 1;
        else if (line->kind != WH_LINE_NRZ)
            chips_per_bit = 2;
    }
    const double rate = loading->rate_hz * chips_per_bit;
    if (rate < CHIP_RATE_LEAST_HZ || rate > CHIP_RATE_MOST_HZ) {
        wh_complain(loading->complaints, wh_yaml_span(loading->rate_node), NULL,
                    "this makes %.6g chips per second; 1000 to 50000 are possible", rate);
        return;
    }
    descriptor->radio.chip_rate_hz = rate;
}
