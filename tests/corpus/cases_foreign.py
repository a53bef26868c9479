"""Recordings in which no sensor speaks: noise and other people's emitters. Nothing may be read."""
import numpy as np

import linecodes
import modulator
from case import case
from scene import Burst


def random_bits(scene, count):
    return list(map(int, scene.rng.integers(0, 2, count)))


def of(name, proves, seconds=0.036, rate=250e3, datatype="cu8", **scene_options):
    """A case whose function only adds emitters to a scene."""
    def register(fill):
        def make(work):
            scene = work.scene(seconds, rate, **scene_options)
            fill(scene)
            scene.bursts.clear()  # foreign: not annotated
            work.pair(scene, datatype=datatype)
        case(name, proves)(make)
        return fill
    return register


@of("bad-noise-250k", "receiver noise alone gives nothing", seconds=0.1)
def _(scene):
    pass


@of("bad-noise-2400k", "the same at the rate of live use", seconds=0.01, rate=2.4e6)
def _(scene):
    pass


@of("bad-noise-quiet", "noise of half a step: the converter makes patterns of it", noise_lsb=0.5)
def _(scene):
    pass


@of("bad-noise-loud", "noise that clips now and then", seconds=0.03, noise_lsb=55)
def _(scene):
    pass


@of("bad-noise-cf32", "noise in floating point", seconds=0.012, datatype="cf32_le")
def _(scene):
    pass


@of("bad-noise-step", "the noise jumps by 12 dB and back: a gain change is no burst to read")
def _(scene):
    scene.samples[4000:7000] *= 4


@of("bad-noise-slope", "noise that falls by 15 dB across the band")
def _(scene):
    spectrum = np.fft.fft(scene.samples)
    scene.samples = np.fft.ifft(spectrum * 10**(0.75 * np.fft.fftfreq(scene.count)))


@of("bad-silence", "a dead input: the same value all the time", seconds=0.05)
def _(scene):
    scene.samples[:] = 0


@of("bad-direct-current", "a strong spike at zero frequency and nothing else", seconds=0.05)
def _(scene):
    scene.add_offset(0.4 - 0.2j)


@of("bad-carrier", "a steady carrier")
def _(scene):
    scene.add_carrier(41e3, 30)


@of("bad-carriers-40k-80k", "two carriers 80 kHz apart, which look like the two tones of FSK")
def _(scene):
    scene.add_carrier(-40e3, 30).add_carrier(40e3, 30)


@of("bad-carrier-bursts", "unmodulated pulses of 8 ms")
def _(scene):
    for start in (0.006, 0.025):
        scene.add_other(lambda times: np.ones(len(times)), start, 0.008, -22e3, 25)


@of("bad-random-fsk-20k", "random FSK chips with the tones and rate of known sensors", seconds=0.06)
def _(scene):
    for start in (0.006, 0.033):
        scene.add(Burst(random_bits(scene, 500), 20e3, "fsk", start, 40e3, snr_db=24))


@of("bad-random-manchester-fsk", "random Manchester bits, legal in every bit, with the tones and rate of known sensors",
    seconds=0.06)
def _(scene):
    for start in (0.006, 0.033):
        chips = linecodes.manchester_high_low(random_bits(scene, 200))
        scene.add(Burst(chips, 20e3, "fsk", start, 40e3, snr_db=24))


@of("bad-random-biphase-fsk", "random biphase bits after a long run-in, without a known sync", seconds=0.06)
def _(scene):
    for start, code in ((0.008, linecodes.biphase_mark), (0.034, linecodes.differential_edge)):
        chips = code([1] * 30 + random_bits(scene, 160))
        scene.add(Burst(chips, 19.2e3, "fsk", start, 35e3, snr_db=24))


@of("bad-random-ook-manchester", "random Manchester bits by on-off keying", seconds=0.06)
def _(scene):
    for start in (0.008,):
        chips = [1, 0] * 16 + linecodes.manchester_low_high(random_bits(scene, 150))
        scene.add(Burst(chips, 8e3, "ook", start, snr_db=24))


@of("bad-random-pulse-width", "a remote control: random pulse-width bits, repeated", seconds=0.06)
def _(scene):
    chips = linecodes.pulse_width("110", "100")(random_bits(scene, 24)) + [0] * 30
    scene.add(Burst(chips * 2, 4e3, "ook", 0.008, offset_hz=15e3, snr_db=24, rise_s=30e-6))


@of("bad-random-fsk-100k", "a data link at 100 kbit/s", seconds=0.04)
def _(scene):
    scene.add(Burst(random_bits(scene, 2000), 100e3, "fsk", 0.01, 50e3, snr_db=18))


@of("bad-random-fsk-1200", "telemetry at 1200 bit/s, 4.5 kHz deviation", seconds=0.06)
def _(scene):
    scene.add(Burst(random_bits(scene, 50), 1200, "fsk", 0.009, 4.5e3, offset_hz=-30e3, snr_db=34))


@of("bad-run-in-only", "a run-in of alternating chips, 20 ms, and no frame behind it", seconds=0.06)
def _(scene):
    scene.add(Burst([1, 0] * 200, 20e3, "fsk", 0.008, 40e3, snr_db=24))
    scene.add(Burst([1, 0] * 100, 10e3, "ook", 0.035, snr_db=24))


@of("bad-voice-am", "amplitude-modulated speech-like tones")
def _(scene):
    scene.add_other(lambda times: modulator.voice_am(times, np.random.Generator(np.random.PCG64(3))), offset_hz=20e3,
                    snr_db=28)


@of("bad-voice-fm", "narrow-band frequency-modulated speech-like tones")
def _(scene):
    scene.add_other(lambda times: modulator.fm_voice(times, np.random.Generator(np.random.PCG64(4))), offset_hz=-35e3,
                    snr_db=28)


@of("bad-chirp", "linear sweeps through the band, one every 8 ms")
def _(scene):
    scene.add_other(lambda times: modulator.chirps(times, 200e3, 8e-3), snr_db=25)


@of("bad-spread-chirps", "data on chirps: 125 kHz wide, 1 ms each")
def _(scene):
    scene.add_other(lambda times: modulator.spread_chirps(times, 125e3, 1.024e-3,
                                                          np.random.Generator(np.random.PCG64(5))),
                    start_s=0.01, seconds=0.03, snr_db=22)


@of("bad-impulses", "ignition-like clicks")
def _(scene):
    scene.add_other(lambda times: modulator.impulses(times, np.random.Generator(np.random.PCG64(6)), 4000), snr_db=40)


@of("bad-hopping-tone", "a tone that jumps among five places at 20 kchip/s", seconds=0.05)
def _(scene):
    steps = scene.rng.integers(-2, 3, 1000) * 20e3
    def wave(times):
        turns = np.concatenate(([0.0], np.cumsum(steps / 20e3)))
        return np.exp(2j * np.pi * np.interp(times, np.arange(1001) / 20e3, turns))
    scene.add_other(wave, 0.01, 0.03, snr_db=25)


@of("bad-all-at-once-2400k", "random bursts, a carrier, sweeps and clicks over 2.4 MHz at the same time",
    seconds=0.024, rate=2.4e6)
def _(scene):
    for offset in (-900e3, -400e3, 150e3, 700e3):
        chips = linecodes.manchester_high_low(random_bits(scene, 130))
        scene.add(Burst(chips, 20e3, "fsk", 0.006, 40e3, offset_hz=offset, snr_db=24))
    scene.add_carrier(333e3, 25)
    scene.add_other(lambda times: modulator.chirps(times, 500e3, 5e-3), offset_hz=900e3, snr_db=24)
    scene.add_other(lambda times: modulator.impulses(times, np.random.Generator(np.random.PCG64(7)), 3000), snr_db=40)
