"""Chips to complex samples, and the other things that are on the air.

Everything is written for a stretch of time: each emitter is a function of the sample times (seconds) and gives
complex samples of amplitude 1 while on. Powers are set by the scene (scene.py), which knows the noise.
"""
import numpy as np


def _keyed(times, chips, chip_s, rise_s):
    """Value of the chip at each time, 0 outside; exact at chip boundaries. `rise_s`: raised-cosine edges."""
    edges = np.arange(len(chips) + 1) * chip_s
    if rise_s == 0:
        index = np.floor(times / chip_s).astype(int)
        inside = (times >= 0) & (times < edges[-1])
        return np.where(inside, np.asarray(chips, float)[np.clip(index, 0, len(chips) - 1)], 0.0)
    steps = np.diff(np.concatenate(([0], chips, [0])))
    value = np.zeros(len(times))
    for edge, step in zip(edges, steps):
        if step:
            along = np.clip((times - edge) / rise_s + 0.5, 0, 1)
            value += step * (0.5 - 0.5 * np.cos(np.pi * along))
    return value


def fsk(times, chips, chip_rate, deviation, drift_hz_s=0.0, rise_s=0.0):
    """Phase-continuous two-tone keying: chip 1 at +deviation, chip 0 at -deviation."""
    chip_s = 1.0 / chip_rate
    edges = np.arange(len(chips) + 1) * chip_s
    turns = np.concatenate(([0.0], np.cumsum((2.0 * np.asarray(chips) - 1) * deviation * chip_s)))
    phase = np.interp(times, edges, turns) + 0.5 * drift_hz_s * times**2
    return _keyed(times, [1] * len(chips), chip_s, rise_s) * np.exp(2j * np.pi * phase)


def ook(times, chips, chip_rate, drift_hz_s=0.0, rise_s=0.0):
    """On-off keying of one oscillator."""
    return _keyed(times, chips, 1.0 / chip_rate, rise_s) * np.exp(1j * np.pi * drift_hz_s * times**2)


def voice_am(times, rng):
    """Double-sideband AM: a wandering mix of low tones with pauses, as speech has."""
    tones = sum(np.sin(2 * np.pi * f * times + rng.uniform(0, 6)) / (1 + k)
                for k, f in enumerate(rng.uniform(120, 2800, 9)))
    syllables = np.clip(np.sin(2 * np.pi * 4.3 * times) + 0.3, 0, 1)
    return 0.6 * (1 + 0.4 * tones * syllables).clip(0)


def fm_voice(times, rng):
    """Narrow-band FM with a low-frequency mix, 3 kHz peak deviation."""
    tones = sum(np.sin(2 * np.pi * f * times + rng.uniform(0, 6)) for f in rng.uniform(150, 2500, 6)) / 4
    rate = times[1] - times[0]
    return np.exp(2j * np.pi * np.cumsum(3000 * tones) * rate)


def chirps(times, span_hz, chirp_s):
    """One linear sweep after the other, each from -span/2 to +span/2."""
    along = np.mod(times, chirp_s) / chirp_s
    return np.exp(2j * np.pi * span_hz * chirp_s * (along**2 - along) / 2)


def spread_chirps(times, span_hz, chirp_s, rng):
    """Sweeps that start at a random place of the span and wrap round: data on chirps."""
    number = np.floor(times / chirp_s).astype(int)
    shift = rng.integers(0, 128, number.max() + 1)[number] / 128
    along = np.mod(np.mod(times, chirp_s) / chirp_s + shift, 1.0) - 0.5
    return np.exp(2j * np.pi * np.cumsum(span_hz * along) * (times[1] - times[0]))


def impulses(times, rng, per_second):
    """Ignition-like clicks: single samples of random strength and phase."""
    out = np.zeros(len(times), complex)
    count = max(1, int(per_second * len(times) * (times[1] - times[0])))
    where = rng.integers(0, len(times), count)
    out[where] = rng.exponential(1.0, count) * np.exp(2j * np.pi * rng.uniform(0, 1, count))
    return out


def self_check():
    rate = 1e6
    times = np.arange(20000) / rate
    wave = fsk(times, [1, 0] * 200, 20e3, 40e3)
    assert np.allclose(np.abs(wave), 1)
    frequency = np.angle(wave[1:] * wave[:-1].conj()) * rate / (2 * np.pi)
    assert np.allclose(frequency[:49], 40e3) and np.allclose(frequency[51:98], -40e3)
    on = ook(times, [1, 1, 0, 1] + [0] * 10, 20e3)
    assert abs(np.sum(np.abs(on)) - 150) <= 1
    soft = ook(times, [0, 1, 0], 20e3, rise_s=20e-6)
    assert abs(np.sum(np.abs(soft)) - 50) <= 1 and 0 < np.abs(soft)[45] < 1
