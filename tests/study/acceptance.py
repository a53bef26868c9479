#!/usr/bin/python3
"""From unknown bursts to a proven descriptor: six kinds of sensors that no part of the program was made with.

    acceptance.py PROGRAM [--gate] [--keep FOLDER] [--only NAME] [--without-truth]

For each kind three sensors are recorded, ten activations each, while they are inflated and warmed; a gauge and a thermometer
are read, and the printed IDs noted. `wheelhark study --truth --draft` makes a descriptor of that, `descriptor check` must accept
it, and `decode` with it alone must give the right IDs in recordings of two other sensors. With --gate ends with status 1 when
fewer than five of the six do.
"""
import argparse
import dataclasses
import json
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "corpus"))
import checksums as check  # noqa: E402
import linecodes as line  # noqa: E402
import recording  # noqa: E402
from checksums import bits_of  # noqa: E402
from scene import Burst, Scene  # noqa: E402

CENTRE = 433.92e6
AIR_KPA = 97.4  # of the place where the recordings are made
PATIENCE_S = 300


@dataclasses.dataclass
class Kind:
    name: str
    modulation: str
    code: callable
    chip_rate: float
    deviation: float
    preamble: list        # chips
    sync: list            # chips
    fields: list          # names and widths, in order
    scale: float          # kPa a count
    absolute: bool
    zero_celsius: float   # temperature of count 0
    check: callable       # bits to check bits
    copies: int = 2
    low_byte_first: bool = False  # the pressure
    end: tuple = ()

    def payload(self, values):
        bits = [bit for name, width in self.fields for bit in bits_of(values[name], width)]
        return bits + self.check(bits)

    def chips(self, values):
        head = self.preamble + self.sync
        return head + self.code(self.payload(values), head[-1]) + list(self.end)


def digits(text):
    return [int(c) for c in text.replace(" ", "")]


def crc_low_byte_first(bits, *parameters, **more):
    sent = check.crc(bits, 16, *parameters, **more)
    return sent[8:] + sent[:8]


KINDS = [
    Kind("fsk-manchester-crc8", "fsk", line.manchester_high_low, 18.6e3, 33e3,
         line.manchester_high_low([1] * 22), digits("0001 1100 1011"),
         [("family", 8), ("sensor", 32), ("pressure", 8), ("temperature", 8), ("status", 8)], 5.2, True, -52.0,
         lambda bits: check.crc(bits, 8, 0x2F, 0xFF, 0xFF)),
    Kind("ook-manchester-xor8", "ook", line.manchester_low_high, 7.3e3, 0.0,
         line.manchester_low_high([0] * 18), digits("1111 0000") + line.manchester_low_high(digits("1011"), 0),
         [("sensor", 28), ("pressure", 12), ("temperature", 8), ("status", 8)], 0.6, True, -40.0,
         lambda bits: check.exclusive_or(bits, 8)),
    Kind("fsk-nrz-crc16", "fsk", line.nrz, 16.4e3, 27e3,
         digits("10") * 24, digits("1101 0011 0001 0110 1110 0101"),
         [("sensor", 32), ("temperature", 8), ("pressure", 16), ("counter", 8)], 0.2, False, -50.0,
         lambda bits: check.crc(bits, 16, 0x1021, 0xFFFF), low_byte_first=True),
    Kind("ook-pulse-sum8", "ook", line.pulse_width("110", "100"), 4.4e3, 0.0,
         digits("110") * 14, digits("1111111 00000"),
         [("family", 8), ("sensor", 24), ("pressure", 8), ("temperature", 8), ("status", 8)], 4.5, False, -45.0,
         lambda bits: check.total(bits, 8), end=(1, 1, 1)),
    Kind("fsk-biphase-crc8", "fsk", line.biphase_mark, 24.6e3, 41e3,
         line.biphase_mark([1] * 26), digits("111 000 10"),
         [("status", 8), ("pressure", 16), ("temperature", 8), ("sensor", 32)], 0.1, True, -50.0,
         lambda bits: check.crc(bits, 8, 0x31, reflect_in=True, reflect_out=True), copies=3),
    Kind("ook-biphase-crc16", "ook", line.biphase_space, 9.1e3, 0.0,
         line.biphase_space([0] * 20), digits("000 111 01"),
         [("temperature", 8), ("status", 4), ("pressure", 12), ("sensor", 32)], 0.5, True, -60.0,
         lambda bits: crc_low_byte_first(bits, 0x8005, 0xFFFF, reflect_in=True, reflect_out=True)),
]


class Sensor:
    """One transmitter with its tolerances, in a tire that is inflated, let down and warmed."""

    def __init__(self, kind, seed):
        self.kind, self.rng = kind, np.random.Generator(np.random.PCG64(seed))
        self.widths = dict(kind.fields)
        self.id = int(self.rng.integers(0, 2**self.widths["sensor"]))
        self.gauge_kpa, self.celsius = float(self.rng.uniform(250, 750)), float(self.rng.uniform(8, 22))
        self.counter = int(self.rng.integers(0, 200))
        self.offset_hz = float(self.rng.uniform(-22e3, 22e3))
        self.rate_error = float(self.rng.normal(0, 0.003))
        self.deviation = kind.deviation * float(self.rng.uniform(0.97, 1.03))
        self.activations = 0

    @property
    def printed(self):
        return f"{self.id:0{self.widths['sensor'] // 4}X}"

    def next(self):
        kind = self.kind
        if self.activations % 2 == 1:
            self.gauge_kpa = float(np.clip(self.gauge_kpa + self.rng.uniform(-110, 150), 120, 880))
        self.celsius += float(self.rng.uniform(0, 3.5))
        self.activations += 1
        self.counter += 1
        count = int(round((self.gauge_kpa + (AIR_KPA if kind.absolute else 0.0)) / kind.scale))
        if kind.low_byte_first:
            count = (count & 0xFF) << 8 | count >> 8
        return {"family": 0x6D, "sensor": self.id, "pressure": count, "counter": self.counter % 256, "status": 0x4,
                "temperature": int(round(self.celsius - kind.zero_celsius))}


def record(folder, name, sensor, activations, seed):
    """Writes the recording; returns what the instruments showed: (seconds, gauge kPa, degC)."""
    kind = sensor.kind
    gap, pause, at = 0.024, 0.42, 0.15
    frame_s = 1.6 * len(kind.chips(Sensor(kind, 0).next())) / kind.chip_rate
    scene = Scene(0.4 + activations * (kind.copies * (frame_s + gap) + 1.3 * pause), 250e3, seed=seed, noise_lsb=2.0)
    shown = []
    for _ in range(activations):
        chips = kind.chips(sensor.next())
        shown.append((at, sensor.gauge_kpa, sensor.celsius))
        for _ in range(kind.copies):
            burst = Burst(chips, kind.chip_rate, kind.modulation, at, sensor.deviation, sensor.offset_hz,
                          20.0 + float(sensor.rng.uniform(-2, 2)), sensor.rate_error)
            scene.add(burst)
            at += burst.duration_s + gap
        at += pause * float(sensor.rng.uniform(0.8, 1.2))
    data = recording.quantise(scene.samples, "cu8")
    recording.write_pair(folder, name, data, recording.metadata(data, scene.rate, CENTRE))
    return shown


def write_truth(path, sensors, shown, rng):
    """The gauge shows whole kilopascals and is up to 1 kPa off, the thermometer half degrees."""
    lines = ["recording,time,sensor,pressure kPa,temperature degC,air pressure kPa"]
    for number, sensor in enumerate(sensors):
        for at, gauge, celsius in shown[number]:
            gauge_shown = round(gauge + float(rng.uniform(-1, 1)))
            lines.append(f"sensor-{number},{at:.2f},{sensor.printed},{gauge_shown},{round(2 * celsius) / 2},{AIR_KPA}")
    path.write_text("\r\n".join(lines) + "\r\n")


def run(program, *arguments):
    with tempfile.TemporaryDirectory() as home:
        environment = {key: value for key, value in os.environ.items()
                       if key in ("PATH", "TMPDIR", "LOCPATH") or key.endswith("SAN_OPTIONS")}
        environment.update(HOME=home, XDG_DATA_HOME=home, LC_ALL="C")
        return subprocess.run([program, *map(str, arguments)], capture_output=True, text=True, env=environment,
                              timeout=PATIENCE_S, check=False)


def decoded(program, draft, name):
    """Readings of the fresh recordings: (source, ID, gauge kPa or None)."""
    out = run(program, "decode", "--json", "--descriptors", draft, "--only", draft.stem, name)
    found = []
    for text in out.stdout.splitlines():
        entry = json.loads(text)
        if entry["record"] == "reading":
            found.append((entry["sensor"], entry.get("gauge_kpa"), entry["offset_s"]))
    return found, out.stderr


def try_kind(options, kind, folder, seed):
    """Returns what happened: a dictionary for the table."""
    rng = np.random.Generator(np.random.PCG64(seed))
    sensors = [Sensor(kind, [seed, number]) for number in range(3)]
    shown = [record(folder, f"sensor-{number}", sensor, 10, seed + number) for number, sensor in enumerate(sensors)]
    write_truth(folder / "gauge.csv", sensors, shown, rng)
    draft = folder / f"draft-{kind.name}.yaml"
    known = [] if options.without_truth else ["--truth", folder / "gauge.csv"]
    study = run(options.program, "study", *sorted(folder.glob("sensor-*.sigmf-meta")), *known, "--draft", draft)
    (folder / "study.txt").write_text(study.stdout + study.stderr)
    result = {"kind": kind.name, "drafted": draft.is_file(), "checked": False, "heard": 0, "right": 0, "wrong": 0, "sent": 0,
              "pressure_error": None}
    if not draft.is_file():
        return result
    result["checked"] = run(options.program, "descriptor", "check", draft).returncode == 0
    errors = []
    for number in range(2):
        fresh = Sensor(kind, [seed, 50 + number])
        told = record(folder, f"fresh-{number}", fresh, 6, seed + 50 + number)
        readings, said = decoded(options.program, draft, folder / f"fresh-{number}.sigmf-meta")
        (folder / f"fresh-{number}.txt").write_text("\n".join(map(str, readings)) + "\n" + fresh.printed + "\n" + said)
        result["sent"] += len(told)
        for at, gauge, _ in told:
            near = [reading for reading in readings if abs(reading[2] - at) < 0.15]
            result["heard"] += bool(near)
            result["right"] += any(reading[0] == fresh.printed for reading in near)
            errors += [abs(reading[1] - gauge) for reading in near if reading[1] is not None]
        result["wrong"] += sum(reading[0] != fresh.printed for reading in readings)
    if errors:
        result["pressure_error"] = max(errors)
    return result


def passed(result):
    """At 20 dB nearly every activation is read; a wrong ID is never right enough."""
    return result["checked"] and result["wrong"] == 0 and result["right"] >= 0.9 * result["sent"]


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("program")
    parser.add_argument("--gate", action="store_true")
    parser.add_argument("--keep", type=pathlib.Path)
    parser.add_argument("--only")
    parser.add_argument("--seed", type=int, default=20260302)
    parser.add_argument("--without-truth", action="store_true")
    options = parser.parse_args()
    good = 0
    for number, kind in enumerate(KINDS):
        if options.only and options.only != kind.name:
            continue
        with tempfile.TemporaryDirectory() as scratch:
            folder = options.keep / kind.name if options.keep else pathlib.Path(scratch)
            folder.mkdir(parents=True, exist_ok=True)
            for old in folder.glob("draft-*.yaml"):
                old.unlink()
            result = try_kind(options, kind, folder, options.seed + 1000 * number)
        good += passed(result)
        error = result["pressure_error"]
        print(f"{kind.name:22} {'passed' if passed(result) else 'FAILED'}: draft {'good' if result['checked'] else 'bad or none'}, "
              f"{result['right']} of {result['sent']} fresh activations with the right ID, {result['wrong']} readings with a wrong one"
              + (f", pressure within {error:.1f} kPa" if error is not None else ""), flush=True)
    print(f"{good} kinds passed")
    if options.gate and good < 5:
        sys.exit(1)


if __name__ == "__main__":
    main()
