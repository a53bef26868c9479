/* The function every harness defines; libFuzzer or standalone_main.c calls it. */
#ifndef WH_FUZZ_TARGET_H
#define WH_FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
