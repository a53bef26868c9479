/* Error rates that detection theory promises, and how far a count may stray from them by chance. Energies are linear
 * ratios to N0, not decibels. */
#ifndef MODEM_THEORY_H
#define MODEM_THEORY_H

#include <stddef.h>

double modem_ratio(double db);

/* Two orthogonal tones of unknown phase, energy e each decision: 0.5 exp(-e / 2). */
double modem_noncoherent_error(double e);
/* The same when the squares of `copies` (1..16) of the decision are added, energy e in all of them together: Proakis, Digital
 * Communications, 4th edition, section 12.1 (binary orthogonal signals on several channels, square-law combining). */
double modem_noncoherent_sum_error(double e, unsigned copies);
/* The same with the phase known: Q(sqrt(e)). */
double modem_coherent_error(double e);
/* On-off keying, unknown phase, energy `on` of a chip that is on: the error at the threshold that makes it least, on
 * and off equally likely. *threshold (may be NULL) is that threshold as a share of the amplitude. */
double modem_keyed_error(double on, double *threshold);
/* Marcum's Q1(a, b), a, b in 0..40: the chance that a Rice variable of amplitude a and unit noise exceeds b. */
double modem_marcum_q(double a, double b);

/* Chance that at least one of `bits` decisions is wrong. */
double modem_frame_loss(double error, unsigned bits);

/* Binomial tails: P(X <= count) and P(X >= count) for n trials at p. */
double modem_at_most(size_t count, size_t n, double p);
double modem_at_least(size_t count, size_t n, double p);
/* Wilson's interval for the share count / n at 95 %. */
void modem_interval(size_t count, size_t n, double *low, double *high);

#endif
