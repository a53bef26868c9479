"""A stretch of radio band: bursts, disturbers and receiver noise on one time line.

Amplitudes are in parts of full scale. The noise of the receiver is white; `noise_lsb` is its standard deviation per
component in steps of an 8-bit converter. The strength of anything else is given as its power while on over the noise
power in a reference band: for a burst a band as wide as the chip rate.
"""
import dataclasses

import numpy as np
from scipy import signal

import modulator

LSB = 1 / 128


@dataclasses.dataclass
class Burst:
    """One frame on the air."""
    chips: list
    chip_rate: float
    modulation: str              # "fsk" or "ook"
    start_s: float = 0.0
    deviation: float = 0.0
    offset_hz: float = 0.0       # of the carrier from the centre of the recording
    snr_db: float = 22.0
    rate_error: float = 0.0      # +0.03: chips come 3 % faster
    drift_hz_s: float = 0.0
    rise_s: float = 0.0
    label: str = ""

    @property
    def actual_rate(self):
        return self.chip_rate * (1 + self.rate_error)

    @property
    def duration_s(self):
        return len(self.chips) / self.actual_rate

    @property
    def half_width_hz(self):
        return self.deviation + self.actual_rate

    def wave(self, times):
        if self.modulation == "fsk":
            return modulator.fsk(times, self.chips, self.actual_rate, self.deviation, self.drift_hz_s, self.rise_s)
        return modulator.ook(times, self.chips, self.actual_rate, self.drift_hz_s, self.rise_s)


class Scene:
    def __init__(self, seconds, rate=250e3, seed=1, noise_lsb=3.0):
        self.rate, self.seed, self.noise_lsb = rate, seed, noise_lsb
        self.count = int(round(seconds * rate))
        self.rng = np.random.Generator(np.random.PCG64(seed))
        # Noise power per hertz: 2 sigma^2 over the sampling rate.
        self.density = 2 * (noise_lsb * LSB)**2 / rate
        self.samples = (self.rng.normal(size=self.count) + 1j * self.rng.normal(size=self.count)) * noise_lsb * LSB
        self.bursts = []
        # Emitters are made finer than the recording and filtered down, as a receiver does, so that nothing folds.
        self.finer = max(1, int(np.ceil(2e6 / rate)))

    def times(self):
        return np.arange(self.count) / self.rate

    def _add(self, start_s, duration_s, offset_hz, power, wave):
        """Add `wave(times from start)` at the right place, mixed to offset_hz; what lies outside is lost."""
        margin = 64
        first = int(np.floor(start_s * self.rate)) - margin
        length = int(np.ceil(duration_s * self.rate)) + 2 * margin
        fine = (np.arange(length * self.finer) / self.finer + first) / self.rate - start_s
        phase = self.rng.uniform(0, 1)
        made = wave(fine) * np.exp(2j * np.pi * (offset_hz * fine + phase))
        if self.finer > 1:
            made = signal.resample_poly(made, 1, self.finer, window=("kaiser", 8.0))
        begin, end = max(0, first), min(self.count, first + length)
        if end > begin:
            self.samples[begin:end] += np.sqrt(power) * made[begin - first:end - first]

    def add(self, burst):
        power = 10**(burst.snr_db / 10) * self.density * burst.chip_rate
        self._add(burst.start_s, burst.duration_s, burst.offset_hz, power, burst.wave)
        self.bursts.append(burst)
        return self

    def add_other(self, wave, start_s=0.0, seconds=None, offset_hz=0.0, snr_db=25.0, band_hz=20e3):
        """Something that is no frame: `wave(times)`, on from start_s, snr_db over the noise in band_hz."""
        seconds = self.count / self.rate - start_s if seconds is None else seconds
        gated = lambda times: np.where((times >= 0) & (times < seconds), wave(times), 0)
        self._add(start_s, seconds, offset_hz, 10**(snr_db / 10) * self.density * band_hz, gated)
        return self

    def add_carrier(self, offset_hz, snr_db):
        return self.add_other(lambda times: np.ones(len(times)), offset_hz=offset_hz, snr_db=snr_db)

    def add_offset(self, level):
        """The direct-current spike of a zero-IF tuner."""
        self.samples += level
        return self

    def scale(self, factor):
        """Everything louder or softer, before the converter."""
        self.samples *= factor
        return self


def self_check():
    """Power of a burst, measured on the samples, against the stated figure."""
    scene = Scene(0.2, seed=5)
    before = scene.samples.copy()
    scene.add(Burst([1] * 2000, 20e3, "ook", start_s=0.05, offset_hz=30e3, snr_db=20))
    on = (scene.samples - before)[15000:35000]
    noise_in_band = np.var(before) * 20e3 / 250e3
    assert abs(10 * np.log10(np.mean(np.abs(on)**2) / noise_in_band) - 20) < 0.1
    spectrum = np.abs(np.fft.fft(on))
    assert abs(np.fft.fftfreq(len(on), 1 / 250e3)[np.argmax(spectrum)] - 30e3) < 20
