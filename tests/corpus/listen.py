"""Hear the maker's own recordings: chip by chip, with time, carrier and rate known, from the bytes that were written.

Not a receiver: it only proves that a recording holds what its expectation says, before the program is blamed.
"""
import numpy as np

import modulator


def dequantise(data, datatype):
    """Complex samples of the bytes that recording.quantise made."""
    kinds = {"cu8": ("u1", 127.5, 127.5), "ci8": ("i1", 0, 128), "ci16_le": ("<i2", 0, 32768), "cf32_le": ("<f4", 0, 1)}
    dtype, zero, full = kinds[datatype]
    flat = (np.frombuffer(data, dtype).astype(float) - zero) / full
    flat = np.nan_to_num(flat, nan=0, posinf=0, neginf=0)
    return flat[0::2] + 1j * flat[1::2]


def chip_errors(samples, rate, burst):
    """Share of the chips that come out wrong when each is decided by its energy alone."""
    times = np.arange(len(samples)) / rate - burst.start_s
    drifting = np.exp(-1j * np.pi * burst.drift_hz_s * times**2)
    still = samples * np.exp(-2j * np.pi * burst.offset_hz * times) * drifting
    chip = np.floor(times * burst.actual_rate).astype(int)
    inside = (chip >= 0) & (chip < len(burst.chips))

    def energy(shift):
        shifted = (still * np.exp(-2j * np.pi * shift * times))[inside]
        index, count = chip[inside], len(burst.chips)
        parts = np.bincount(index, shifted.real, count) + 1j * np.bincount(index, shifted.imag, count)
        return np.abs(parts)**2

    if burst.modulation == "fsk":
        heard = energy(burst.deviation) > energy(-burst.deviation)
    else:
        level = energy(0)
        heard = np.sqrt(level) > (np.sqrt(level).max() + np.sqrt(level).min()) / 2
    return float(np.mean(heard != np.asarray(burst.chips, bool)))


def self_check():
    rng = np.random.Generator(np.random.PCG64(1))
    chips = list(map(int, rng.integers(0, 2, 400)))
    times = np.arange(10000) / 250e3 - 0.002

    class Known:
        start_s, offset_hz, drift_hz_s, actual_rate, deviation, modulation = 0.002, 0.0, 0.0, 20e3, 40e3, "fsk"
    Known.chips = chips
    wave = modulator.fsk(times, chips, 20e3, 40e3)
    assert chip_errors(wave, 250e3, Known) == 0
    Known.chips = [1 - chip for chip in chips]
    assert chip_errors(wave, 250e3, Known) == 1
