/* Loops compiled more than once for the vector units a processor may have; the first call picks. */
#ifndef WH_WIDE_H
#define WH_WIDE_H

#include <stddef.h>
#include <stdint.h> /* says which C library this is */

/* To be put before the definition of a function that is one or two plain loops over long arrays; it takes three tenths off the
 * detector's time. The clones compute the same to the last bit: nothing is contracted or reassociated (-ffp-contract=off, no fast
 * mathematics), so only the number of elements handled at once differs. With gcc on glibc only; elsewhere, and under sanitizers,
 * which cannot instrument a choice made before they are ready, there is one version. No clone for 512-bit registers: beside FFTW, which
 * works with 256 bits here, they cost more in switching than they save (the detector took a seventh longer). */
#if defined __x86_64__ && defined __linux__ && defined __GLIBC__ && !defined __SANITIZE_ADDRESS__ &&                   \
    !defined __SANITIZE_THREAD__ && !defined __clang__
#define WH_WIDE __attribute__((target_clones("default", "avx2")))
#else
#define WH_WIDE
#endif

#endif
