#include "bench_fleet.h"

#include "rng.h"

#include <math.h>
#include <stdio.h>

static const char *const line_codes[] = {"manchester\n  one: high-low", "biphase-mark", "biphase-space",
                                         "differential-manchester\n  one: no edge"};

/* One invented kind. */
typedef struct kind {
    bool keyed;
    double rate, deviation; /* kchip/s, kHz */
    char sync[17];
} kind;

/* Rates from 4 to 40 kchip/s and deviations from 15 to 60 kHz, evenly over their logarithms; one kind in four is on-off keyed. */
static kind draw(wh_rng *rng, unsigned number)
{
    kind k = {.keyed = number % 4 == 3};
    k.rate = (k.keyed ? 4.0 : 8.0) * pow(k.keyed ? 4.0 : 5.0, wh_rng_uniform(rng));
    k.deviation = 15.0 * pow(4.0, wh_rng_uniform(rng));
    for (unsigned b = 0; b < 16; b++)
        k.sync[b] = (char)('0' + wh_rng_below(rng, 2));
    return k;
}

/* Sets are sorted by name. The kinds that are heard are the first by number and must not be the first to be tried: names are mixed. */
static wh_status load(wh_descriptor_set *set, unsigned number, const kind *k)
{
    char radio[80] = "modulation: ook", text[1400], name[24];
    if (!k->keyed)
        snprintf(radio, sizeof radio, "modulation: fsk\n  deviation: %.2f kHz", k->deviation);
    snprintf(name, sizeof name, "bench-%03u", (73 * number + 41) % BENCH_FLEET_MOST);
    const int length = snprintf(text, sizeof text,
                                "wheelhark descriptor: 1\n"
                                "name: %s\n"
                                "summary: One of many\n"
                                "provenance:\n"
                                "  kind: invented\n"
                                "radio:\n"
                                "  carriers: [433.92 MHz]\n"
                                "  chip rate: %.3f kchip/s\n"
                                "  %s\n"
                                "line:\n"
                                "  code: %s\n"
                                "frame:\n"
                                "  preamble: {bits: \"0\", repeats: 16}\n"
                                "  sync: {bits: \"%s\"}\n"
                                "  payload: 80 bits\n"
                                "copies: {count: 4, gap: {least: 40 ms, most: 120 ms}}\n"
                                "checks:\n"
                                "  - kind: crc\n"
                                "    name: check\n"
                                "    width: 8 bits\n"
                                "    polynomial: 0x07\n"
                                "    over: {from: 0, bits: 72}\n"
                                "    place: {from: 72, bits: 8}\n"
                                "fields:\n"
                                "  - name: sensor\n"
                                "    role: sensor\n"
                                "    place: {from: 0, bits: 32}\n"
                                "examples:\n"
                                "  - frame: {hex: \"00000000000000000000\", bits: 80}\n"
                                "    expect: {sensor: \"00000000\"}\n",
                                name, k->rate, radio,
                                line_codes[k->keyed     ? 0
                                           : number % 3 ? number % 4
                                                        : 0],
                                k->sync);
    return length < 0 ? WH_ERR_LIMIT : wh_descriptor_set_load_text(set, name, text, (size_t)length, NULL, NULL);
}

bool bench_fleet_add(wh_descriptor_set *set, unsigned count)
{
    wh_rng rng;
    wh_rng_seed(&rng, 7);
    for (unsigned i = 0; i < count; i++) {
        const kind k = draw(&rng, i);
        if (i >= BENCH_FLEET_MOST || load(set, i, &k) != WH_OK)
            return false;
    }
    return true;
}
