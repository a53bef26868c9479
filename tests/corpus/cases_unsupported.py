"""Recordings of a kind that is refused in plain words: exit status 65 and no reading.

Each holds a frame that would be read if the samples were of a kind we take, so that only the kind can be the reason.
"""
import numpy as np

import recording
from case import case
from layouts import yard_scene

REFUSED = 65


def of(name, proves, datatype, convert, rate=250e3, **more):
    def make(work):
        scene, _ = yard_scene(work, rate=rate)
        data = convert(scene.samples)
        meta = recording.metadata(data, rate, 433.92e6, datatype, description=proves, **more)
        recording.write_pair(work.folder, work.name, data, meta)
        work.file(".sigmf-meta", recording.text_of(meta), "", exit_status=REFUSED)
        work.describe(scene, datatype)
    case(name, proves)(make)


def interleaved(samples):
    flat = np.empty(2 * len(samples))
    flat[0::2], flat[1::2] = samples.real, samples.imag
    return flat


def cu8(samples):
    return recording.quantise(samples, "cu8")


of("unsupported-real-rf32", "real floating-point samples", "rf32_le", lambda s: s.real.astype("<f4").tobytes())
of("unsupported-real-ri16", "real 16-bit samples", "ri16_le", lambda s: (s.real * 32767).astype("<i2").tobytes())
of("unsupported-cf64", "double-precision samples", "cf64_le", lambda s: recording.quantise(s, "cf64_le"))
of("unsupported-ci32", "32-bit integer samples", "ci32_le",
   lambda s: (interleaved(s) * (2**31 - 1)).astype("<i4").tobytes())
of("unsupported-big-endian", "16-bit samples with the high byte first", "ci16_be",
   lambda s: (interleaved(s) * 32767).astype(">i2").tobytes())
of("unsupported-cu16", "unsigned 16-bit samples", "cu16_le",
   lambda s: (interleaved(s) * 32767 + 32768).astype("<u2").tobytes())
of("unsupported-two-channels", "two complex channels interleaved", "cu8",
   lambda s: cu8(np.repeat(s, 2)), num_channels=2)
of("unsupported-rate-100k", "100 kS/s: narrower than a sensor's signal with its tolerances", "cu8", cu8, rate=100e3)
of("unsupported-rate-10m", "10 MS/s, more than any dongle gives (half a millisecond of it)", "cu8",
   lambda s: cu8(s[:5000]), rate=10e6)


@case("unsupported-wav-mono", "a WAV file with one channel is no IQ")
def _(work):
    scene, _ = yard_scene(work)
    data = (scene.samples.real * 32767).astype("<i2").tobytes()
    work.file(".wav", recording.wav(data, scene.rate, channels=1), "", exit_status=REFUSED)
    work.describe(scene, "one-channel WAV")


@case("unsupported-wav-24-bit", "a WAV file with 24-bit samples")
def _(work):
    scene, _ = yard_scene(work)
    wide = (interleaved(scene.samples)[:30000] * (2**23 - 1)).astype("<i4")
    data = wide.view("u1").reshape(-1, 4)[:, :3].tobytes()
    work.file(".wav", recording.wav(data, scene.rate, bits=24), "", exit_status=REFUSED)
    work.describe(scene, "24-bit WAV")
