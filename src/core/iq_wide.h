/* What is done to every sample of a band: conversion straight into a transform's input, and counting what was clipped. */
#ifndef WH_IQ_WIDE_H
#define WH_IQ_WIDE_H

#include "wheelhark/iq.h"

/* real[i], imag[i] = sample i as wh_iq_to_float() gives it, times weight[i]. Values that are no numbers become 0. */
void wh_iq_weigh(wh_iq_format format, const void *samples, size_t count, const float *weight, float *real, float *imag);

/* Samples with I or Q at either end of the range of 8 bits; 0 for the other formats. */
uint64_t wh_iq_count_clipped(wh_iq_format format, const void *samples, size_t count);

/* Numbers that wh_iq_to_float() takes as 0; 0 for integers. */
uint64_t wh_iq_count_invalid(wh_iq_format format, const void *samples, size_t count);

#endif
