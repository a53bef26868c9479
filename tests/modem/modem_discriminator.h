/* The receiver everybody builds first, for comparison: a channel filter 200 kHz wide, a frequency discriminator or
 * an envelope detector, the mean over each chip, and a decision per chip. It is flattered: carrier, chip rate, start
 * and levels are told. */
#ifndef MODEM_DISCRIMINATOR_H
#define MODEM_DISCRIMINATOR_H

#include "modem_air.h"

typedef struct modem_verdict {
    bool chips_right; /* every chip of the payload decided right: a receiver that takes no violation of the line code */
    bool bits_right;  /* Manchester: every bit right by the difference of its two chips before any decision */
} modem_verdict;

/* False when memory is out. */
bool modem_discriminator(const modem_air *air, const modem_sent *sent, modem_verdict *verdict);

#endif
