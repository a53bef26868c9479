"""Frames of known sensors with something wrong: almost right must not be read as right."""
import dataclasses

import numpy as np

import checksums
import layouts as L
import linecodes
from case import case


IEEE_MANCHESTER = dataclasses.replace(L.MANCHESTER, code=linecodes.manchester_low_high)
IN_BIPHASE = dataclasses.replace(L.MANCHESTER, code=linecodes.biphase_mark)


def flipped(payload, *places):
    return [bit ^ (index in places) for index, bit in enumerate(payload)]


def of(name, proves, layout=L.MANCHESTER, values=L.YARD, seconds=0.028, start_s=0.008, rate=250e3, alter=None,
       before=None, **radio):
    """One frame whose payload `alter` changed after the check was computed, or sent in a wrong way."""
    def make(work):
        scene = work.scene(seconds, rate)
        payload = layout.payload(values)
        scene.add(layout.burst(layout.chips_of(alter(payload) if alter else payload, before), start_s=start_s, **radio))
        work.pair(scene)
    case(name, proves)(make)


# --- one bit wrong, at each kind of place

for _name, _place in (("sensor-first", 0), ("sensor-last", 31), ("pressure", 34), ("temperature", 47), ("flags", 52),
                      ("check-first", 72), ("check-last", 79)):
    of(f"bad-bit-{_name}", f"bit {_place} of a strong frame is wrong: it is not repaired into a reading",
       alter=lambda payload, place=_place: flipped(payload, place))
of("bad-bits-pressure", "two bits wrong", alter=lambda payload: flipped(payload, 33, 36))

# --- the check of every other kind

of("bad-check-nrz", "CRC-16 wrong", L.NRZ, {"sensor": 0x1F2E3D4C5B, "pressure": 903, "temperature": 20},
   alter=lambda payload: flipped(payload, 103))
of("bad-check-biphase-mark", "CRC-16 over numbers with one bit wrong", L.MARK,
   {"sensor": 0x44AA1209, "pressure": 16200, "temperature": 775}, alter=lambda payload: flipped(payload, 41))
of("bad-check-biphase-space", "CRC-12 wrong", L.SPACE, {"sensor": 0x5EED123, "pressure": 812, "temperature": 142},
   alter=lambda payload: flipped(payload, 60))
of("bad-check-differential", "parity wrong, and a CRC-6 that is right for it", L.DIFFERENTIAL,
   {"sensor": 0x0BADA550, "pressure": 1530, "temperature": 31},
   alter=lambda payload: (head := flipped(payload[:66], 65)) + checksums.crc(head, 6, 0x2F, 0, 0x3F))
of("bad-check-low-first", "reflected CRC-16 with its bytes the wrong way round", L.LOW_FIRST,
   {"sensor": 0x51D0A7E4, "pressure": 6895,
    "temperature": -20}, alter=lambda payload: payload[:72] + payload[80:] + payload[72:80])
of("bad-check-ook-manchester", "sum byte one too large", L.OOK_MANCHESTER,
   {"sensor": 0x9C0FFEE, "pressure": 573, "temperature": 31}, alter=lambda payload: flipped(payload, 71))
of("bad-check-pulse-duration", "XOR byte wrong", L.DURATION, {"sensor": 0xD15C0123, "pressure": 105,
                                                              "temperature": 128},
   seconds=0.08, alter=lambda payload: flipped(payload, 58))
of("bad-check-remote", "the published remote sensor with a wrong check byte", L.REMOTE, {"temperature": 235},
   alter=lambda payload: flipped(payload, 30))

# --- the right shape, another meaning

of("bad-constant", "the check is right, the family is another's", values=dict(L.YARD, family=0b010))
of("bad-message-kind", "the published remote sensor, a message that is no temperature", L.REMOTE, {"temperature": 235},
   alter=lambda payload: [0, 0, 0, 1, 0, 1, 0, 0] + [0] * 16 + [1, 1, 1, 0, 1, 1, 0, 0])
of("bad-sync", "a right frame behind another sync", before=[("bits", "0" * 16), ("bits", "0101 1100 0011 1010")])
of("bad-sync-near", "a right frame behind a sync of which four bits in sixteen are wrong",
   before=[("bits", "0" * 16), ("bits", "0111 0101 1011 1101")])
of("bad-no-sync", "a right frame behind its run-in, without the sync", before=[("bits", "0" * 16)])
of("bad-sense", "a right frame in the other Manchester sense", IEEE_MANCHESTER)
of("bad-sense-payload", "a right sync, then the payload in the other sense",
   alter=lambda payload: [1 - bit for bit in payload])
of("bad-line-code", "a right frame in biphase mark instead of Manchester", IN_BIPHASE)
of("bad-shifted", "a right sync, then everything one bit late", alter=lambda payload: [0] + payload[:-1])
of("bad-short", "a frame ten bits too short", alter=lambda payload: payload[:-10])

# --- the right bits, another signal

of("bad-rate-fast", "a right frame 25 % too fast", rate_error=0.25)
of("bad-rate-slow", "a right frame 25 % too slow", rate_error=-0.25)
of("bad-rate-double", "a right frame at twice the rate", rate_error=1.0)
of("bad-deviation", "a right frame with tones 12 kHz instead of 40 kHz from the centre", deviation=12e3)
of("bad-modulation", "a right frame keyed on and off instead of between two tones",
   dataclasses.replace(L.MANCHESTER, modulation="ook"))
of("bad-buried", "a right frame 10 dB below the noise", snr_db=-10)


# --- parts missing

@case("bad-cut-by-end", "the recording ends after two thirds of the frame")
def _(work):
    scene = work.scene(0.0155)
    L.MANCHESTER.send(scene, L.YARD, 0.008)
    work.pair(scene)


@case("bad-cut-by-start", "the recording begins in the middle of the frame")
def _(work):
    scene = work.scene(0.025)
    L.MANCHESTER.send(scene, L.YARD, -0.0056)
    work.pair(scene)


@case("bad-hole", "two milliseconds in the middle of the frame are gone")
def _(work):
    scene = work.scene(0.028)
    L.MANCHESTER.send(scene, L.YARD, 0.008)
    hole = slice(int(0.0135 * 250e3), int(0.0155 * 250e3))
    scene.samples[hole] = work.scene(0.002).samples
    work.pair(scene)


@case("bad-collision", "two frames of equal strength on one carrier at the same time")
def _(work):
    scene = work.scene(0.028)
    L.MANCHESTER.send(scene, L.YARD, 0.008)
    L.MANCHESTER.send(scene, dict(L.YARD, sensor=0xF5E4D3C2, pressure=77, temperature=99), 0.0093, offset_hz=700)
    work.pair(scene)


@case("bad-clipped", "clipped beyond repair: every sample at full scale")
def _(work):
    scene = work.scene(0.028)
    L.MANCHESTER.send(scene, L.YARD, 0.008)
    scene.add_offset(4 + 4j)
    work.pair(scene)


@case("bad-chopped", "a right frame of which every other bit was muted")
def _(work):
    scene = work.scene(0.028)
    quiet = work.scene(0.028).samples
    L.MANCHESTER.send(scene, L.YARD, 0.008)
    chip = np.floor((scene.times() - 0.008) * 20e3).astype(int)
    scene.samples = np.where(chip % 4 < 2, quiet, scene.samples)
    work.pair(scene)
