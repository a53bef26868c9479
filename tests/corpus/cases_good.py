"""Readable frames under everything that a yard, a dongle and a recording program do to them."""
import numpy as np

import layouts as L
import recording
from case import CENTRE, case, without

DAMAGED = 65
OTHER = {"sensor": 0xC0FFEE11, "pressure": 160, "temperature": 35, "battery_low": 1}


def carrier_at(reading, hertz):
    """The reading must also tell the carrier, to 2 kHz."""
    return dict(reading, carrier_hz=hertz, tolerance={"carrier_hz": 2000})


# --- the band

@case("good-one-copy", "a single frame, and where its carrier is")
def _(work):
    scene = work.scene(0.05)
    work.pair(scene, [carrier_at(L.MANCHESTER.send(scene, L.YARD, 0.025, offset_hz=12e3), CENTRE + 12e3)])


def offset_case(name, offset):
    @case(name, f"a carrier {offset / 1e3:+.0f} kHz from its place, 1.024 MS/s")
    def _(work):
        scene = work.scene(0.026, 1.024e6)
        reading = L.MANCHESTER.send(scene, L.YARD, 0.008, offset_hz=offset)
        work.pair(scene, [carrier_at(reading, CENTRE + offset)])


offset_case("good-carrier-high", 90e3)
offset_case("good-carrier-low", -90e3)
# Beyond the tolerance of 110 kHz: everything else being right, it is that sensor, and must not be lost.
offset_case("good-carrier-far", 300e3)


def rate_case(name, error):
    @case(name, f"chips {abs(error) * 100:.0f} % too {'fast' if error > 0 else 'slow'}")
    def _(work):
        scene = work.scene(0.065)
        work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, rate_error=error),
                          L.OOK_MANCHESTER.send(scene, {"sensor": 0x1234567, "pressure": 600, "temperature": 12}, 0.035,
                                                rate_error=error)])


rate_case("good-rate-fast", 0.03)
rate_case("good-rate-slow", -0.03)


@case("good-rate-wide", "chips 9 % too slow, which this descriptor allows")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.SPACE.send(scene, {"sensor": 0x5EED123, "pressure": 901, "temperature": 120}, 0.02,
                                   rate_error=-0.09)])


@case("good-deviation-off", "tones 20 % nearer to each other than the descriptor says")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, deviation=32e3)])


@case("good-drift", "a carrier that drifts by 2 kHz during the frame")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, drift_hz_s=180e3)])


@case("good-soft-edges", "on-off keying with edges as long as half a chip")
def _(work):
    scene = work.scene(0.04)
    values = {"sensor": 0x2222222, "pressure": 610, "temperature": 19, "rolling": 1}
    work.pair(scene, [L.OOK_MANCHESTER.send(scene, values, 0.01, rise_s=50e-6)])


@case("good-spike-and-carrier", "a tuner's spike at zero frequency and a steady carrier beside the frame")
def _(work):
    scene = work.scene(0.045)
    reading = L.MANCHESTER.send(scene, L.YARD, 0.015, offset_hz=-45e3)
    scene.add_offset(0.06 + 0.03j).add_carrier(70e3, 22)
    work.pair(scene, [reading])


@case("good-in-turn", "three kinds of sensor one after the other on different carriers")
def _(work):
    scene = work.scene(0.13)
    work.pair(scene, [
        L.MANCHESTER.send(scene, OTHER, 0.015, offset_hz=-20e3),
        L.OOK_MANCHESTER.send(scene, {"sensor": 0x00ABCDE, "pressure": 655, "temperature": 44}, 0.05, offset_hz=30e3),
        L.DIFFERENTIAL.send(scene, {"sensor": 0x77000001, "pressure": 1711, "temperature": 88}, 0.1, offset_hz=10e3)])


@case("good-at-once", "three sensors at the same time on different carriers, 1.024 MS/s")
def _(work):
    scene = work.scene(0.036, 1.024e6)
    work.pair(scene, [
        L.MANCHESTER.send(scene, L.YARD, 0.014, offset_hz=-95e3),
        L.MANCHESTER.send(scene, OTHER, 0.018, offset_hz=95e3),
        L.OOK_MANCHESTER.send(scene, {"sensor": 0x00ABCDE, "pressure": 655, "temperature": 44}, 0.012)])


@case("good-interleaved", "two sensors of one kind on one carrier, their copies in turn: two readings, not one or four")
def _(work):
    scene = work.scene(0.13)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, copies=2, gap_s=0.05),
                      L.MANCHESTER.send(scene, OTHER, 0.045, copies=2, gap_s=0.05)])


@case("good-near-and-far", "a sensor 20 dB weaker than its neighbour's, at the same time")
def _(work):
    scene = work.scene(0.036, 1.024e6)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.014, offset_hz=-100e3, snr_db=38),
                      L.OOK_MANCHESTER.send(scene, {"sensor": 0x7654321, "pressure": 512, "temperature": 3}, 0.012,
                                            offset_hz=60e3, snr_db=18)])


@case("good-quiet", "a frame of one and a half steps of the converter, noise of 0.7 steps")
def _(work):
    scene = work.scene(0.04, noise_lsb=0.7)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, snr_db=16)])


@case("good-clipped", "an FSK frame so near that the converter clips hard")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01, snr_db=46)])


@case("good-clipped-ook", "an on-off keyed frame so near that the converter clips hard")
def _(work):
    scene = work.scene(0.04)
    values = {"sensor": 0x3333333, "pressure": 590, "temperature": 25}
    work.pair(scene, [L.OOK_MANCHESTER.send(scene, values, 0.01, snr_db=50)])


# --- the recording

@case("good-at-start", "a frame that begins with the first sample")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.0)])


@case("good-at-end", "a frame that ends with the last sample")
def _(work):
    scene = work.scene(0.0272)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.016)])


@case("good-2400k", "2.4 MS/s, as in live use, tuned beside the sensors")
def _(work):
    scene = work.scene(0.021, 2.4e6)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.008, offset_hz=-280e3, snr_db=24)], centre=CENTRE + 280e3)


@case("good-rate-odd", "2 222 222 S/s, a rate that no chip length divides")
def _(work):
    scene = work.scene(0.017, 2222222.0)
    values = {"sensor": 0x1F2E3D4C5B, "pressure": 777, "temperature": 51}
    work.pair(scene, [L.NRZ.send(scene, values, 0.008, offset_hz=333e3, snr_db=24)], centre=CENTRE - 333e3)


def datatype_case(name, datatype):
    @case(name, f"samples of the kind {datatype}")
    def _(work):
        scene = work.scene(0.03)
        work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01)], datatype=datatype)


datatype_case("good-ci8", "ci8")
datatype_case("good-ci16", "ci16_le")
datatype_case("good-cf32", "cf32_le")


@case("good-archive", "a SigMF archive")
def _(work):
    scene = work.scene(0.03)
    work.archive(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01)])


@case("good-bare", "bare samples, described on the command line")
def _(work):
    scene = work.scene(0.03)
    work.bare(scene, ".cu8", "cu8", [L.MANCHESTER.send(scene, L.YARD, 0.01)])


def wav_case(name, proves, datatype, **form):
    @case(name, proves)
    def _(work):
        scene = work.scene(0.03)
        reading = L.MANCHESTER.send(scene, L.YARD, 0.01)
        data = recording.wav(recording.quantise(scene.samples, datatype), scene.rate, **form)
        work.file(".wav", data, "", [reading], options=f"--centre {CENTRE:.0f}")
        work.describe(scene, proves)


wav_case("good-wav-16", "WAV, 16 bit", "ci16_le", bits=16)
wav_case("good-wav-8", "WAV, 8 bit, a chunk of odd size before the samples", "cu8", bits=8, junk=True)
wav_case("good-wav-float", "WAV, 32-bit floating point", "cf32_le", bits=32, is_float=True)


@case("good-no-centre", "a recording that does not say where it was tuned")
def _(work):
    scene = work.scene(0.03)
    reading = L.MANCHESTER.send(scene, L.YARD, 0.01)
    work.pair(scene, [reading], alter=without("captures", 0, "core:frequency"))


@case("good-two-captures", "retuned from 433.92 to 315 MHz in the middle: each part has its own frequency and time")
def _(work):
    scene = work.scene(0.06)
    high = L.MANCHESTER.send(scene, L.YARD, 0.01, offset_hz=20e3)
    low = L.LOW_FIRST.send(scene, {"sensor": 0x000000AB, "pressure": 8000, "temperature": 9}, 0.04, offset_hz=-10e3)
    half = scene.count // 2
    captures = [{"core:sample_start": 0, "core:frequency": CENTRE, "core:datetime": recording.START},
                {"core:sample_start": half, "core:frequency": 315e6, "core:datetime": "2026-03-02T07:15:00.030000Z"}]

    def move(meta):  # the annotation of the second frame lies in the other band
        note = meta["annotations"][1]
        for edge in ("core:freq_lower_edge", "core:freq_upper_edge"):
            note[edge] += 315e6 - CENTRE
    work.pair(scene, [carrier_at(high, CENTRE + 20e3), carrier_at(low, 315e6 - 10e3)], captures=captures, alter=move)


@case("good-header-bytes", "a header before the samples and a trailer behind them, in a file of another name")
def _(work):
    scene = work.scene(0.03)
    reading = L.MANCHESTER.send(scene, L.YARD, 0.01)
    data = b"yard recorder" + bytes(51) + recording.quantise(scene.samples, "cu8") + b"\xff\x00\xff\x00\xff"
    captures = [{"core:sample_start": 0, "core:header_bytes": 64, "core:frequency": CENTRE}]
    meta = work.meta(scene, data, "cu8", CENTRE, captures=captures, trailing_bytes=5, dataset=work.name + ".raw")
    work.file(".raw", data, "", [reading])
    work.write(".sigmf-meta", recording.text_of(meta))
    work.describe(scene, "cu8 with 64 bytes before and 5 behind")


# --- damage that leaves something to read

@case("good-despite-wrong-hash", "the hash is another's: the frame is read, and the damage is told")
def _(work):
    scene = work.scene(0.03)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01)], DAMAGED, sha512="5a" * 64)


@case("good-despite-cut", "the file breaks off inside the second frame: the first is read, and the damage is told")
def _(work):
    scene = work.scene(0.1)
    first = L.MANCHESTER.send(scene, L.YARD, 0.01)
    L.MANCHESTER.send(scene, OTHER, 0.07)
    work.pair(scene, [first], DAMAGED, cut=lambda data: data[:2 * int(0.075 * 250e3) + 1])


@case("good-despite-old-habits", "a description in the manner of SigMF before 1.0")
def _(work):
    scene = work.scene(0.03)

    def alter(meta):
        meta["global"].update({"core:version": "0.0.1", "core:extensions": {"yard": "0.1.0"}})
        meta["global"].pop("core:sha512")
        meta["captures"][0]["core:time"] = meta["captures"][0].pop("core:datetime")
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.01)], alter=alter)


@case("good-some-not-a-number", "floating-point samples with a few that are no number, beside the frame and inside it")
def _(work):
    scene = work.scene(0.03)
    reading = L.MANCHESTER.send(scene, L.YARD, 0.01)
    scene.samples[[100, 2000, 3501, 7400]] = [np.nan, np.inf, complex(np.nan, 0.1), complex(0, -np.inf)]
    work.pair(scene, [reading], datatype="cf32_le")
