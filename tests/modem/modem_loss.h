/* Frame loss of the whole receiver at one level. */
#ifndef MODEM_LOSS_H
#define MODEM_LOSS_H

#include "modem_air.h"

typedef struct modem_loss {
    size_t frames;
    size_t heard;                             /* transmissions of which the right frame came, at any confidence */
    size_t believed;                          /* at confidence 0.5 or more, which is what people see */
    size_t unrepaired;                        /* without flipping bits until the check holds */
    size_t wrong, wrong_believed, wrong_sure; /* readings that were not sent: all, at 0.5, at 0.9 */
    /* the discriminator receiver on the same samples */
    size_t plain_chips, plain_bits; /* frames with all chips right; with all bits right (Manchester) */
    bool has_bits;
} modem_loss;

/* `frames` transmissions of `descriptor`, the only member of `set` unless others are meant to be listened for too. */
bool modem_loss_measure(const wh_descriptor_set *set, const wh_descriptor *descriptor, unsigned copies, double eb_db,
                        size_t frames, bool plain, uint64_t seed, modem_loss *loss);

#endif
