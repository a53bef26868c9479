#include "modem_loss.h"

#include "line_code.h"
#include "modem_discriminator.h"

#include <stdlib.h>

#define BATCH 200 /* frames in memory at once: about 25 MB */

typedef struct tally {
    const modem_air *air;
    modem_loss *loss;
    bool heard[BATCH], believed[BATCH], unrepaired[BATCH];
} tally;

static void count_reading(void *context, const wh_reading *reading, const modem_sent *sent)
{
    tally *t = context;
    if (!modem_frame_right(reading, sent)) {
        t->loss->wrong++;
        t->loss->wrong_believed += reading->confidence >= 0.5;
        t->loss->wrong_sure += reading->confidence >= 0.9;
        return;
    }
    const size_t i = (size_t)(sent - t->air->sent);
    t->heard[i] = true;
    t->believed[i] |= reading->confidence >= 0.5;
    t->unrepaired[i] |= reading->repaired_bits == 0;
}

static bool run_plain(const modem_air *air, modem_loss *loss)
{
    for (size_t i = 0; i < air->sent_count; i++) {
        modem_verdict verdict;
        if (!modem_discriminator(air, &air->sent[i], &verdict))
            return false;
        loss->plain_chips += verdict.chips_right;
        loss->plain_bits += verdict.bits_right;
    }
    return true;
}

static bool run_batch(const modem_air_spec *spec, const wh_descriptor_set *set, bool plain, modem_loss *loss)
{
    modem_air *air = modem_air_create(spec);
    if (!air)
        return false;
    tally t = {.air = air, .loss = loss};
    const bool ok = modem_air_receive(air, set, count_reading, &t) && (!plain || run_plain(air, loss));
    for (size_t i = 0; i < air->sent_count; i++) {
        loss->heard += t.heard[i];
        loss->believed += t.believed[i];
        loss->unrepaired += t.unrepaired[i];
    }
    loss->frames += air->sent_count;
    modem_air_destroy(&air);
    return ok;
}

bool modem_loss_measure(const wh_descriptor_set *set, const wh_descriptor *descriptor, unsigned copies, double eb_db,
                        size_t frames, bool plain, uint64_t seed, modem_loss *loss)
{
    *loss = (modem_loss){.has_bits = descriptor->line.kind == WH_LINE_MANCHESTER};
    modem_air_spec spec = modem_air_usual();
    spec.descriptors = &descriptor;
    spec.descriptor_count = 1;
    spec.copies = copies;
    spec.eb_low_db = spec.eb_high_db = eb_db;
    const size_t batch = copies < BATCH ? BATCH / copies : 1;
    bool ok = true;
    for (size_t done = 0; ok && done < frames; done += spec.count) {
        spec.count = frames - done < batch ? frames - done : batch;
        spec.seed = seed + 16 * done;
        ok = run_batch(&spec, set, plain, loss);
    }
    return ok;
}
