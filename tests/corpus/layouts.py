"""The layouts of the demonstration family, written out from the plain meaning of protocols/*.yaml.

A layout turns raw field values into payload bits, chips and a burst, and says what must be read from them. Raw values
are what the sensor counts; the scale is applied only in `heard`, so that no rounding hides between the two.
"""
import dataclasses
from typing import Callable

import checksums as check
import linecodes as line
from checksums import bits_of
from scene import Burst

SEA_LEVEL_KPA = 101.325
KPA_PER_PSI = 6.894757  # NIST SP 811
FAULT = "fault"


@dataclasses.dataclass
class Layout:
    name: str
    modulation: str
    chip_rate: float
    code: Callable
    before: list                 # ("bits" | "chips", text): preamble and sync, in order
    payload: Callable            # raw values -> payload bits in reading order
    read: Callable               # raw values -> what a reading shows
    deviation: float = 0.0
    after: str = ""              # chips behind the payload
    sent_low_bit_first: bool = False
    lower_tone_is_one: bool = False

    def chips_of(self, payload, before=None):
        """Chips of a frame with any payload bits, right or wrong."""
        sent = check.mirrored(payload, 8) if self.sent_low_bit_first else payload
        chips = []
        for kind, text in before or self.before:
            chips += self._coded(kind, [int(c) for c in text.replace(" ", "")], chips)
        chips += self._coded("bits", sent, chips)
        chips += [int(c) for c in self.after.replace(" ", "")]
        return [1 - chip for chip in chips] if self.lower_tone_is_one else chips

    def _coded(self, kind, symbols, so_far):
        return symbols if kind == "chips" else self.code(symbols, so_far[-1] if so_far else 0)

    def burst(self, chips=None, **more):
        plain = {"deviation": self.deviation, "label": self.name}
        return Burst(chips, self.chip_rate, self.modulation, **{**plain, **more})

    def heard(self, values, offset_s, copies, **more):
        """The reading that must come out."""
        return {"descriptor": self.name, **self.read(values), "copies": copies, "offset_s": round(offset_s, 6), **more}

    def send(self, scene, values, start_s, copies=1, gap_s=0.0, **radio):
        """Put copies of a frame on the air; returns the reading that must come out."""
        burst = self.burst(self.chips_of(self.payload(values)), **radio)
        for copy in range(copies):
            scene.add(dataclasses.replace(burst, start_s=start_s + copy * (burst.duration_s + gap_s)))
        return self.heard(values, start_s, copies)


def shown(sensor, width, kpa, temp_c, absolute=True, **flags):
    """Gauge pressure is absolute minus the air outside; FAULT for a number that the sensor does not give."""
    reading = {"sensor": f"{sensor:0{(width + 3) // 4}X}"}
    reading["gauge_kpa"] = None if kpa is FAULT else round(kpa - (SEA_LEVEL_KPA if absolute else 0), 4)
    if absolute and kpa is not FAULT:
        reading["absolute_kpa"] = round(kpa, 4)
    reading["temp_c"] = None if temp_c is FAULT else round(temp_c, 4)
    if flags:
        reading["flags"] = {key: bool(value) for key, value in flags.items()}
    return reading


def low_byte_first(value, count):
    return [bit for byte in value.to_bytes(count, "little") for bit in bits_of(byte, 8)]


def flag(values, name):
    return [int(values.get(name, 0))]


# --- demo-fsk-manchester: 80 bits, CRC-8 07 over 72

def _manchester(v):
    bits = bits_of(v["sensor"], 32) + bits_of(v["pressure"], 8) + bits_of(v["temperature"], 8) \
        + bits_of(v.get("battery", 8), 4) + flag(v, "battery_low") + flag(v, "pressure_drop") \
        + bits_of(v.get("family", 0b101), 3) + bits_of(v.get("activations", 5), 7) \
        + bits_of(v.get("acceleration", -6), 8)
    return bits + check.crc(bits, 8, 0x07)


MANCHESTER = Layout(
    "demo-fsk-manchester", "fsk", 20e3, line.manchester_high_low, [("bits", "0" * 16), ("bits", "1110 0101 1010 1100")],
    _manchester, lambda v: shown(
        v["sensor"], 32, FAULT if v["pressure"] >= 0xFD else 100 + 4 * v["pressure"],
        FAULT if v["temperature"] == 0xFF else v["temperature"] - 40,
        battery_low=v.get("battery_low", 0), pressure_drop=v.get("pressure_drop", 0)), deviation=40e3)


# --- demo-fsk-manchester-low-first: the other sense, tones swapped, low bit and low byte first, CRC-16/KERMIT

def _low_first(v):
    bits = low_byte_first(v["sensor"], 4) + bits_of(0xC3, 8) + low_byte_first(v["pressure"], 2) \
        + bits_of(v["temperature"], 8) + bits_of(v.get("battery", 60), 8)
    crc = check.number_of(check.crc(bits, 16, 0x1021, 0, 0, True, True))
    return bits + low_byte_first(crc, 2)


LOW_FIRST = Layout(
    "demo-fsk-manchester-low-first", "fsk", 19.2e3, line.manchester_low_high,
    [("bits", "01" * 8), ("bits", "0011 0100 1011 1000")], _low_first, lambda v: shown(
        v["sensor"], 32, FAULT if v["pressure"] >= 0xFFFE else 0.1 * v["pressure"],
        FAULT if v["temperature"] == -128 else v["temperature"], absolute=False),
    deviation=30e3, sent_low_bit_first=True, lower_tone_is_one=True)


# --- demo-fsk-differential: a one has no edge at its start; odd parity, then CRC-6 2F inverted over 66 bits

def _differential(v):
    bits = bits_of(v["sensor"], 32) + bits_of(v["pressure"], 12) + bits_of(v["temperature"] ^ 0xFF, 8) \
        + flag(v, "battery_low") + flag(v, "self_test_failed") + bits_of(0b010, 3) + bits_of(v.get("battery", 90), 8)
    bits += check.parity(bits, odd=True)
    return bits + check.crc(bits, 6, 0x2F, 0, 0x3F)


DIFFERENTIAL = Layout(
    "demo-fsk-differential", "fsk", 20e3, line.differential_no_edge,
    [("bits", "0" * 18), ("bits", "1110 0010 0101 1101")],
    _differential, lambda v: shown(
        v["sensor"], 32, FAULT if v["pressure"] in (0, 0xFFF) else 0.5 * v["pressure"], v["temperature"] - 40,
        battery_low=v.get("battery_low", 0), self_test_failed=v.get("self_test_failed", 0)), deviation=20e3)


# --- demo-fsk-biphase-mark: 96 bits, numbers low byte first, CRC-16 1021 from FFFF over 80

def _mark(v):
    bits = bits_of(0xB6, 8) + bits_of(v["sensor"], 32) + low_byte_first(v["pressure"], 2) \
        + low_byte_first(v["temperature"] & 0xFFFF, 2) + bits_of(v.get("battery", 3), 4) + flag(v, "battery_low") \
        + flag(v, "rolling") + flag(v, "pressure_drop") + flag(v, "hot")
    return bits + check.crc(bits, 16, 0x1021, 0xFFFF)


MARK = Layout(
    "demo-fsk-biphase-mark", "fsk", 38.4e3, line.biphase_mark, [("bits", "1" * 24), ("bits", "0001 1011 0100 1110")],
    _mark, lambda v: shown(
        v["sensor"], 32, FAULT if v["pressure"] >= 0xFFF0 else 0.05 * v["pressure"],
        FAULT if v["temperature"] == -0x8000 else 0.01 * v["temperature"],
        battery_low=v.get("battery_low", 0), rolling=v.get("rolling", 0), hot=v.get("hot", 0)), deviation=50e3)


# --- demo-fsk-biphase-space: 28-bit ID, up to four further bytes, CRC-12 80F over 52, an end that breaks the code

def _space(v):
    further = v.get("further", b"")
    bits = bits_of(v["sensor"], 28) + bits_of(v["pressure"], 12) + bits_of(v["temperature"], 8) \
        + bits_of(len(further), 4)
    return bits + check.crc(bits, 12, 0x80F) + [bit for byte in further for bit in bits_of(byte, 8)]


SPACE = Layout(
    "demo-fsk-biphase-space", "fsk", 19.2e3, line.biphase_space, [("bits", "0" * 16), ("bits", "1101 0011 1010 0001")],
    _space, lambda v: shown(
        v["sensor"], 28, FAULT if v["pressure"] == 0 or v["pressure"] >= 0xFF0 else v["pressure"],
        FAULT if v["temperature"] == 0xFF else 0.5 * v["temperature"] - 50), deviation=35e3, after="0001 1100 0111")


# --- demo-fsk-nrz: 104 bits at 50 kbit/s, 40-bit ID, CRC-16/DNP sent low byte first

def _nrz(v):
    bits = bits_of(v["sensor"], 40) + bits_of(v["pressure"], 11) + bits_of(v["temperature"] & 0x1FF, 9) \
        + bits_of(v.get("battery", 12), 4) + bits_of(v.get("sequence", 40000), 16) + flag(v, "battery_low") \
        + flag(v, "pressure_drop") + [0, 0, 0, 0] + flag(v, "hot") + flag(v, "rolling")
    crc = check.number_of(check.crc(bits, 16, 0x3D65, 0, 0xFFFF, True, True))
    return bits + low_byte_first(crc, 2)


NRZ = Layout(
    "demo-fsk-nrz", "fsk", 50e3, line.nrz, [("bits", "10" * 20), ("bits", "1011 0101 0100 1100 1101 0011")],
    _nrz, lambda v: shown(
        v["sensor"], 40, FAULT if v["pressure"] == 0x7FF else v["pressure"],
        FAULT if v["temperature"] == -256 else 0.5 * v["temperature"],
        battery_low=v.get("battery_low", 0), rolling=v.get("rolling", 0), hot=v.get("hot", 0)), deviation=50e3)


# --- demo-fsk-partial: only 24 unchanging bits are known

PARTIAL = Layout(
    "demo-fsk-partial", "fsk", 25e3, line.manchester_high_low,
    [("bits", "1" * 20), ("chips", "0001 1101 0001 1100 1011 1000")],
    lambda v: bits_of(0x3C, 8) + bits_of(v["steady"], 24) + bits_of(v["rest"], 40),
    lambda v: {"sensor": f"~{v['steady']:06X}"}, deviation=25e3)


# --- demo-ook-manchester: 28-bit ID in two places, pressure in 0.2 psi, sum byte that starts at 2A

def _ook_manchester(v):
    temperature = bits_of(int(v["temperature"] < 0), 1) + bits_of(abs(v["temperature"]), 7)
    bits = bits_of(0b1001, 4) + bits_of(v["sensor"] & 0xFFFFFF, 24) + bits_of(v["sensor"] >> 24, 4) \
        + bits_of(v["pressure"], 10) + temperature + flag(v, "battery_low") + flag(v, "under_target") \
        + flag(v, "rolling") + [0] + bits_of(v.get("uptime", 777), 10)
    return bits + bits_of((check.number_of(check.total(bits, 8)) + 0x2A) % 256, 8)


OOK_MANCHESTER = Layout(
    "demo-ook-manchester", "ook", 10e3, line.manchester_high_low,
    [("bits", "1" * 20), ("chips", "1110 0011 0100 0111")],
    _ook_manchester, lambda v: shown(
        v["sensor"], 28, FAULT if v["pressure"] in (0, 0x3FF) else 0.2 * v["pressure"] * KPA_PER_PSI, v["temperature"],
        battery_low=v.get("battery_low", 0), under_target=v.get("under_target", 0), rolling=v.get("rolling", 0)))


# --- demo-ook-nrz: carrier off is a one; no check

OOK_NRZ = Layout(
    "demo-ook-nrz", "ook", 8e3, lambda bits, level=0: [1 - bit for bit in bits],
    [("chips", "10" * 20), ("bits", "0000 1111 0100 1011 0010 1101")],
    lambda v: bits_of(0xA96C, 16) + bits_of(v["sensor"], 24) + bits_of(v["pressure"], 8) + bits_of(v["temperature"], 8)
    + bits_of(v.get("status", 1), 4) + bits_of(v.get("age", 2), 4),
    lambda v: shown(v["sensor"], 24, FAULT if v["pressure"] == 0xFF else 4 * v["pressure"], v["temperature"] - 50,
                    absolute=False), after="1")


# --- demo-ook-pulse-duration: bits of two lengths; XOR byte; psi and degrees Fahrenheit

def _duration(v):
    bits = low_byte_first(v["sensor"], 4) + bits_of(v["pressure"], 8) + bits_of(v["temperature"], 8) \
        + bits_of(v.get("state", 1), 8)
    return bits + bits_of(check.number_of(check.exclusive_or(bits, 8)) ^ 0xA5, 8)


DURATION = Layout(
    "demo-ook-pulse-duration", "ook", 4e3, line.pulse_width("1110", "10"),
    [("bits", "0" * 20), ("chips", "11111 00000")],
    _duration, lambda v: shown(
        v["sensor"], 32, FAULT if v["pressure"] >= 0xFE else v["pressure"] * KPA_PER_PSI,
        FAULT if v["temperature"] == 0xFF else (v["temperature"] - 60 - 32) / 1.8, absolute=False), after="11111")


# --- demo-ook-pulse-width: thirds of 1.5 ms; even parity, then a byte that makes the sum zero

def _width(v):
    bits = bits_of(v["sensor"], 24) + bits_of(v["pressure"], 8) + bits_of(v["temperature"] ^ 0xFF, 8) \
        + flag(v, "battery_low") + flag(v, "alarm") + flag(v, "woken") + bits_of(v.get("motion", 0), 2) \
        + bits_of(0b01, 2)
    bits += check.parity(bits)
    return bits + check.negative_total(bits, 8)


WIDTH = Layout(
    "demo-ook-pulse-width", "ook", 2e3, line.pulse_width("110", "100"), [("bits", "1" * 12), ("chips", "111111 000")],
    _width, lambda v: shown(
        v["sensor"], 24, FAULT if v["pressure"] >= 0xFE else 5 * v["pressure"], v["temperature"] - 50, absolute=False,
        battery_low=v.get("battery_low", 0), alarm=v.get("alarm", 0), woken=v.get("woken", 0)))


# --- remote-fsk-manchester-32: the published one; two illegal bits on either side

def _remote(v):
    bits = bits_of(0x64, 8) + bits_of(v["temperature"] & 0xFFFF, 16)
    return bits + check.negative_total(bits, 8)


REMOTE = Layout(
    "remote-fsk-manchester-32", "fsk", 16e3, line.manchester_high_low, [("chips", "0011"), ("bits", "1" * 55 + "0")],
    _remote, lambda v: {"temp_c": 0.1 * v["temperature"]}, deviation=8e3, after="0011")

ALL = (MANCHESTER, LOW_FIRST, DIFFERENTIAL, MARK, SPACE, NRZ, PARTIAL, OOK_MANCHESTER, OOK_NRZ, DURATION, WIDTH, REMOTE)

YARD = {"sensor": 0x0A1B2C3D, "pressure": 181, "temperature": 58}


def yard_scene(work, rate=250e3, **radio):
    """The shortest recording that holds something to read: one frame of a demonstration sensor."""
    scene = work.scene(0.011, rate)
    values = {"sensor": 0x1F2E3D4C5B, "pressure": 903, "temperature": 55}
    return scene, NRZ.send(scene, values, 0.0035, **radio)


def self_check():
    """The examples that stand in the descriptor files, which were computed without this file."""
    hexed = lambda layout, **v: f"{check.number_of(layout.payload(v)):0{len(layout.payload(v)) // 4}X}"
    assert hexed(MANCHESTER, sensor=0x0A1B2C3D, pressure=181, temperature=58) == "0A1B2C3DB53A8285FA2B"
    assert hexed(LOW_FIRST, sensor=0x51D0A7E4, pressure=6895, temperature=-20) == "E4A7D051C3EF1AEC3C1DA6"
    assert hexed(DIFFERENTIAL, sensor=0x3C96A55A, pressure=1655, temperature=95) == "3C96A55A677A012D32"
    assert hexed(MARK, sensor=0x44AA1209, pressure=18627, temperature=2575, rolling=1) == "B644AA1209C3480F0A3493E8"
    assert hexed(SPACE, sensor=0x0F1E2D3, pressure=1204, temperature=60, further=b"\x11\x22") == "0F1E2D34B43C202E1122"
    assert hexed(NRZ, sensor=0x1F2E3D4C5B, pressure=903, temperature=55, rolling=1) == "1F2E3D4C5B70E37C9C4001003D"
    assert hexed(OOK_MANCHESTER, sensor=0x9C0FFEE & 0xFFFFFFF, pressure=573, temperature=31,
                 rolling=1) == "9C0FFEE98F47CB0966"
    assert hexed(OOK_NRZ, sensor=0x2BADE5, pressure=180, temperature=76) == "A96C2BADE5B44C12"
    assert hexed(DURATION, sensor=0xD15C0123, pressure=105, temperature=128) == "23015CD1698001E2"
    assert hexed(WIDTH, sensor=0x7E1103, pressure=144, temperature=72, woken=1) == "7E110390B72205"
    assert hexed(REMOTE, temperature=235) == "6400EBB1"
