#!/usr/bin/python3
"""Layouts that nobody has seen: drawn from a seed, sent by the independent modulator of tests/corpus.

    random_layouts.py FOLDER --seed 7 [--activations 10] [--sensors 3] [--snr 22] [--fresh]

writes recordings of one kind of sensor (SigMF, one per sensor) and truth.json: the layout, and every frame sent.
"""
import argparse
import dataclasses
import json
import pathlib
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "corpus"))
import checksums as check  # noqa: E402
import linecodes as line  # noqa: E402
import recording  # noqa: E402
from checksums import bits_of  # noqa: E402
from scene import Burst, Scene  # noqa: E402

CENTRE = 433.92e6
PULSE_WORDS = [("110", "100"), ("100", "110"), ("1110", "1000"), ("1110", "10"), ("1000", "10"), ("10", "1110")]
TWO_CHIP = {
    "manchester-high-low": line.manchester_high_low, "manchester-low-high": line.manchester_low_high,
    "differential-no-edge": line.differential_no_edge, "differential-edge": line.differential_edge,
    "biphase-mark": line.biphase_mark, "biphase-space": line.biphase_space,
}
CHECKS = {
    "crc-8": lambda bits, p: check.crc(bits, 8, p["polynomial"], p["start"]),
    "crc-16": lambda bits, p: check.crc(bits, 16, p["polynomial"], p["start"]),
    "sum-8": lambda bits, p: bits_of((check.number_of(check.total(bits, 8)) + p["start"]) % 256, 8),
    "xor-8": lambda bits, p: bits_of(check.number_of(check.exclusive_or(bits, 8)) ^ p["start"], 8),
}


@dataclasses.dataclass
class Layout:
    """Everything that a descriptor of the kind would have to say."""
    seed: int
    modulation: str
    code: str
    words: tuple                 # pulse width: chips of (one, zero)
    chip_rate: float
    deviation: float
    preamble: list               # chips
    sync: list                   # chips, after the preamble
    end: list                    # chips after the payload
    fields: list                 # (name, bits) in order, without the check
    check: str
    parameters: dict
    copies: int
    gap_s: float

    @property
    def bits(self):
        return sum(width for _, width in self.fields) + (16 if self.check == "crc-16" else 8)

    def coder(self):
        if self.code == "nrz":
            return line.nrz
        return line.pulse_width(*self.words) if self.code == "pulse-width" else TWO_CHIP[self.code]

    def payload(self, values):
        bits = [bit for name, width in self.fields for bit in bits_of(values[name], width)]
        return bits + CHECKS[self.check](bits, self.parameters)

    def chips(self, payload):
        head = self.preamble + self.sync
        return head + self.coder()(payload, head[-1]) + self.end


def whole_bytes(rng, fields):
    """Flags fill the last byte up, so that checks over bytes are possible."""
    missing = -sum(width for _, width in fields) % 8
    if missing:
        fields.insert(int(rng.integers(0, len(fields))), ("status", missing))
    return fields


def draw_fields(rng):
    fields = [("sensor", int(rng.choice([24, 28, 32, 32, 32, 40]))), ("pressure", int(rng.choice([8, 10, 12, 16]))),
              ("temperature", 8)]
    if rng.random() < 0.5:
        fields.append(("counter", int(rng.choice([4, 8]))))
    if rng.random() < 0.5:
        fields.append(("battery", 8))
    if rng.random() < 0.4:
        fields.append(("family", int(rng.choice([4, 8]))))
    order = rng.permutation(len(fields))
    if rng.random() < 0.7:  # most layouts begin with the sensor or a family
        order = sorted(range(len(fields)), key=lambda i: fields[i][0] not in ("family", "sensor"))
    return whole_bytes(rng, [fields[i] for i in order])


def draw_head(rng, code, coder, words):
    """Preamble and sync as chips."""
    periods = int(rng.integers(10, 33))
    if code == "pulse-width":
        one = [int(c) for c in words[int(rng.random() < 0.5)]]
        preamble = one * int(rng.integers(8, 21))
        sync = [1] * int(rng.integers(5, 9)) + [0] * int(rng.integers(4, 9))
        return preamble, sync
    alternating = rng.random() < 0.6 or code == "nrz"
    preamble = [1, 0] * periods if alternating else coder([int(rng.random() < 0.5)] * periods, 0)
    if code == "nrz":
        return preamble, [int(b) for b in rng.integers(0, 2, int(rng.choice([16, 24, 32])))]
    if rng.random() < 0.5:  # breaks the code: runs of three
        pattern = [1, 1, 1, 0, 0, 0] if rng.random() < 0.5 else [0, 0, 0, 1, 1, 1]
        tail = coder([int(b) for b in rng.integers(0, 2, 4)], pattern[-1])
        return preamble, pattern + tail if rng.random() < 0.5 else pattern + [1, 0]
    bits = [int(b) for b in rng.integers(0, 2, int(rng.choice([8, 16])))]
    return preamble, coder(bits, preamble[-1])


def draw(seed, code=None, modulation=None, check_kind=None):
    """The layout of a seed; what is given is not drawn."""
    rng = np.random.Generator(np.random.PCG64([seed, 1]))
    modulation = modulation or str(rng.choice(["fsk", "ook"]))
    code = code or str(rng.choice(list(TWO_CHIP) + ["nrz", "nrz", "pulse-width"] +
                                  (["pulse-width"] * 3 if modulation == "ook" else [])))
    words = PULSE_WORDS[int(rng.integers(0, len(PULSE_WORDS)))]
    # Half a second for a frame is the most that is sent in practice; narrower tones melt into one.
    low, high = (2e3, 50e3) if modulation == "fsk" else (1.5e3, 20e3)
    chip_rate = float(np.round(np.exp(rng.uniform(np.log(low), np.log(high)))))
    deviation = float(np.round(rng.uniform(max(8e3, 0.5 * chip_rate), 60e3))) if modulation == "fsk" else 0.0
    layout = Layout(seed, modulation, code, words if code == "pulse-width" else (), chip_rate, deviation, [], [], [], [],
                    check_kind or str(rng.choice(list(CHECKS))), {}, int(rng.integers(1, 5)),
                    float(np.round(rng.uniform(0.015, 0.06), 4)))
    layout.preamble, layout.sync = draw_head(rng, code, layout.coder(), words)
    if code == "pulse-width" and rng.random() < 0.4:
        layout.end = [1] * int(rng.integers(1, 6))
    layout.fields = draw_fields(rng)
    wide = layout.check == "crc-16"
    polynomials = [0x1021, 0x8005, 0x3D65] if wide else [0x07, 0x31, 0x2F, 0x1D, 0x9B]
    layout.parameters = {"polynomial": int(rng.choice(polynomials)),
                         "start": int(rng.choice([0, 0xFFFF if wide else 0xFF, int(rng.integers(0, 256))]))}
    return layout


class Sensor:
    """One transmitter with its own tolerances, in a tire whose pressure follows its temperature."""

    def __init__(self, layout, number, fresh):
        self.rng = np.random.Generator(np.random.PCG64([layout.seed, 100 + number + (1000 if fresh else 0)]))
        self.layout = layout
        rng, widths = self.rng, dict(layout.fields)
        family = np.random.Generator(np.random.PCG64([layout.seed, 2]))
        self.fixed = {"sensor": int(rng.integers(0, 2**widths["sensor"])),
                      "family": int(family.integers(0, 2**widths.get("family", 1))),
                      "status": 0, "battery": int(rng.integers(20, 120))}
        self.counter = int(rng.integers(0, 256))
        self.kpa, self.celsius = float(rng.uniform(500, 900)), float(rng.uniform(5, 40))
        self.offset_hz = float(rng.uniform(-25e3, 25e3))
        self.rate_error = float(rng.normal(0, 0.004))
        self.deviation = layout.deviation * float(rng.uniform(0.96, 1.04))

    def next(self):
        """Values of the next activation."""
        widths = dict(self.layout.fields)
        warmer = float(self.rng.normal(0.4, 0.8))
        self.kpa *= (self.celsius + warmer + 273.15) / (self.celsius + 273.15)
        self.celsius += warmer
        self.counter += 1
        scale = {8: 5.0, 10: 1.0, 12: 0.5, 16: 0.05}[widths["pressure"]]
        values = dict(self.fixed, pressure=int(self.kpa / scale), temperature=int(round(self.celsius)) + 50,
                      counter=self.counter % 2**widths.get("counter", 8))
        return {name: values[name] for name in widths}


def record(layout, sensor, activations, snr_db, rate=250e3, noise_lsb=2.0):
    """One recording of one sensor; returns the scene and what was sent."""
    seconds = layout.copies * (len(layout.chips([0] * layout.bits)) * 1.4 / layout.chip_rate + layout.gap_s)
    pause = max(0.8, 0.1 + seconds)  # further apart than copies: equal frames that soon after are copies
    scene = Scene(0.2 + activations * (seconds + pause), rate, seed=int(sensor.rng.integers(1, 2**31)),
                  noise_lsb=noise_lsb)
    sent, at = [], 0.1
    for _ in range(activations):
        values = sensor.next()
        payload = layout.payload(values)
        chips = layout.chips(payload)
        first = at
        for _ in range(layout.copies):
            burst = Burst(chips, layout.chip_rate, layout.modulation, at, sensor.deviation, sensor.offset_hz,
                          snr_db + float(sensor.rng.uniform(-2, 2)), sensor.rate_error)
            scene.add(burst)
            at += burst.duration_s + layout.gap_s
        sent.append({"at_s": round(first, 6), "bits": "".join(map(str, payload)), "values": values,
                     "end_s": round(at - layout.gap_s, 6)})
        at += pause * float(sensor.rng.uniform(0.8, 1.2))
        if at + seconds + 0.05 > scene.count / scene.rate:
            break
    return scene, sent


def write(folder, layout, sensors, activations, snr_db, fresh=False, rate=250e3):
    folder.mkdir(parents=True, exist_ok=True)
    truth = {"layout": dataclasses.asdict(layout), "bits": layout.bits, "centre_hz": CENTRE, "recordings": []}
    for number in range(sensors):
        sensor = Sensor(layout, number, fresh)
        scene, sent = record(layout, sensor, activations, snr_db, rate)
        data = recording.quantise(scene.samples, "cu8")
        name = f"{'fresh' if fresh else 'sensor'}-{number}"
        meta = recording.metadata(data, scene.rate, CENTRE, annotations=[
            recording.annotation(burst, scene.rate, CENTRE) for burst in scene.bursts])
        recording.write_pair(folder, name, data, meta)
        truth["recordings"].append({
            "name": name, "sensor": f"{sensor.fixed['sensor']:0{(dict(layout.fields)['sensor'] + 3) // 4}X}",
            "offset_hz": sensor.offset_hz, "frames": sent})
    (folder / ("truth-fresh.json" if fresh else "truth.json")).write_text(json.dumps(truth, indent=1) + "\n")
    return truth


def main():
    options = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    options.add_argument("folder", type=pathlib.Path)
    options.add_argument("--seed", type=int, required=True)
    options.add_argument("--code")
    options.add_argument("--modulation")
    options.add_argument("--check")
    options.add_argument("--activations", type=int, default=10)
    options.add_argument("--sensors", type=int, default=3)
    options.add_argument("--snr", type=float, default=22.0)
    options.add_argument("--fresh", action="store_true", help="other sensors of the same kind")
    given = options.parse_args()
    layout = draw(given.seed, given.code, given.modulation, given.check)
    write(given.folder, layout, given.sensors, given.activations, given.snr, given.fresh)


if __name__ == "__main__":
    main()
