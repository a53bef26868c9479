#!/usr/bin/python3
"""Kinds of sensors that nobody has seen: are they decoded from a descriptor alone?

    random_kinds.py PROGRAM [--seeds 1-40] [--snr 18-24] [--rough] [--together] [--keep FOLDER] [--gate]

For each seed a layout is drawn (tests/study/random_layouts.py), its descriptor written from it, and recordings made by the independent
modulator of this folder: other sample rates, carriers, chip rates and deviations than nominal, sensors that send several copies.
With --together all kinds, and the shipped ones, are listened for at once. Prints what is missing, wrong or too much; with --gate ends with status 1 when anything is.
"""
import argparse
import dataclasses
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "study"))
import modulator  # noqa: E402
import random_layouts  # noqa: E402
import recording  # noqa: E402
from scene import Burst, Scene  # noqa: E402

CENTRE = 433.92e6
SENSORS, LEAD_S, PAUSE_S = 3, 0.45, 0.4
ABSOLUTE_KPA, DEG_C = 100, -40  # of count 0; a count is 1 kPa and 1 degree
LINES = {
    "manchester-high-low": "code: manchester, one: high-low", "manchester-low-high": "code: manchester, one: low-high",
    "differential-no-edge": "code: differential-manchester, one: no edge",
    "differential-edge": "code: differential-manchester, one: edge", "biphase-mark": "code: biphase-mark",
    "biphase-space": "code: biphase-space", "nrz": "code: nrz",
}


def text(chips):
    return "".join(map(str, chips))


def pattern(chips):
    """As short as it can be told: a period and how often."""
    for length in range(1, len(chips) + 1):
        if len(chips) % length == 0 and chips[:length] * (len(chips) // length) == chips:
            return f'{{chips: "{text(chips[:length])}", repeats: {len(chips) // length}}}'


def places(layout):
    at, found = 0, {}
    for name, width in layout.fields:
        found[name] = (at, width)
        at += width
    return found, at


def check_text(layout, bits):
    kind, start = layout.check, layout.parameters["start"]
    width = 16 if kind == "crc-16" else 8
    words = {"crc-8": "crc", "crc-16": "crc", "sum-8": "sum", "xor-8": "xor"}[kind]
    more = f", polynomial: 0x{layout.parameters['polynomial']:X}" if words == "crc" else ""
    return (f"  - {{kind: {words}, width: {width} bits, start: {start}{more}, over: {{from: 0, bits: {bits}}}, "
            f"place: {{from: {bits}, bits: {width}}}}}\n")


def example(layout):
    values = {name: 1 for name, _ in layout.fields}
    bits = text(layout.payload(values))
    whole = bits + "0" * (-len(bits) % 8)
    return f"  - {{frame: {{hex: \"{int(whole, 2):0{len(whole) // 4}X}\", bits: {len(bits)}}}, " \
           f"expect: {{pressure: {ABSOLUTE_KPA + 1} kPa absolute}}}}\n"


def descriptor(layout, name):
    where, bits = places(layout)
    place = lambda field: "{from: %d, bits: %d}" % where[field]
    words = ', one: {chips: "%s"}, zero: {chips: "%s"}' % layout.words if layout.words else ""
    line = "code: pulse-width" + words if layout.words else LINES[layout.code]
    deviation = f", deviation: {layout.deviation / 1e3:.3f} kHz" if layout.modulation == "fsk" else ""
    end = f', end: {{chips: "{text(layout.end)}"}}' if layout.end else ""
    least, most = 0.5 * layout.gap_s, 1.5 * layout.gap_s
    others = "".join(f"  - {{name: {field}, role: value, place: {place(field)}, scale: 1}}\n" for field, _ in layout.fields
                     if field not in ("sensor", "pressure", "temperature"))
    return (
        f"wheelhark descriptor: 1\nname: {name}\nsummary: Drawn at random\nprovenance: {{kind: invented}}\n"
        f"radio: {{carriers: [433.92 MHz], modulation: {layout.modulation}, "
        f"chip rate: {layout.chip_rate / 1e3:.3f} kchip/s{deviation}}}\nline: {{{line}}}\n"
        f"frame: {{preamble: {pattern(layout.preamble)}, sync: {{chips: \"{text(layout.sync)}\"}}, "
        f"payload: {layout.bits} bits{end}}}\n"
        f"copies: {{count: {layout.copies}, gap: {{least: {1e3 * least:.2f} ms, most: {1e3 * most:.2f} ms}}}}\n"
        f"checks:\n{check_text(layout, bits)}fields:\n  - {{name: sensor, role: sensor, place: {place('sensor')}}}\n"
        f"  - {{name: pressure, role: pressure, place: {place('pressure')}, scale: 1 kPa, offset: {ABSOLUTE_KPA} kPa, "
        f"reference: absolute}}\n"
        f"  - {{name: temperature, role: temperature, place: {place('temperature')}, scale: 1 degC, offset: {DEG_C} degC}}\n"
        f"{others}examples:\n{example(layout)}")


@dataclasses.dataclass
class Sent:
    sensor: str
    kpa: float
    temp_c: float
    copies: int
    at_s: float


def roughen(scene, rng):
    """What a cheap receiver and a yard add: its spike at 0 Hz, a steady carrier, clicks of engines."""
    scene.add_offset((0.5 + 0.3j) * float(rng.uniform(0, 4)) / 128)
    scene.add_carrier(float(rng.uniform(-0.4, 0.4)) * scene.rate, float(rng.uniform(5, 25)))
    scene.add_other(lambda times: modulator.impulses(times, rng, 30), snr_db=30.0)


def make_recording(layout, rng, snr, rough, folder):
    """One recording with all sensors; returns what was sent."""
    rate = float(rng.choice([250e3, 250e3, 1.024e6, 1.024e6, 2.4e6]))
    one_s = len(layout.chips(layout.payload({name: 1 for name, _ in layout.fields}))) / layout.chip_rate
    group_s = layout.copies * (1.05 * one_s + layout.gap_s)
    scene = Scene(LEAD_S + SENSORS * (group_s + PAUSE_S), rate=rate, seed=int(rng.integers(1 << 30)), noise_lsb=3.0)
    room = min(0.5 * rate - 1.2 * (layout.deviation + layout.chip_rate), 90e3)
    sent, at_s = [], LEAD_S
    for _ in range(SENSORS):
        values = {name: int(rng.integers(0, 1 << width)) for name, width in layout.fields}
        values["pressure"] = int(rng.integers(200, 1 << 10)) % (1 << dict(layout.fields)["pressure"])
        values["temperature"] = int(rng.integers(20, 120))
        burst = Burst(layout.chips(layout.payload(values)), layout.chip_rate, layout.modulation,
                      deviation=layout.deviation * float(rng.uniform(0.9, 1.1)),
                      offset_hz=float(rng.uniform(-room, room)) if room > 0 else 0.0, snr_db=float(rng.uniform(*snr)),
                      rate_error=float(rng.uniform(-0.04, 0.04)))
        if rough:  # soft edges, and a carrier that moves by up to 1 kHz in a frame
            burst.rise_s = float(rng.uniform(0, 0.3)) / layout.chip_rate
            burst.drift_hz_s = float(rng.uniform(-1e3, 1e3)) / burst.duration_s
        start_s = at_s + float(rng.uniform(0, 0.1))
        for copy in range(layout.copies):
            scene.add(dataclasses.replace(burst, start_s=start_s + copy * (burst.duration_s + layout.gap_s)))
        width = dict(layout.fields)["sensor"]
        sent.append(Sent(f"{values['sensor']:0{(width + 3) // 4}X}", ABSOLUTE_KPA + values["pressure"],
                         DEG_C + values["temperature"], layout.copies, start_s))
        at_s += group_s + PAUSE_S
    if rough:
        roughen(scene, rng)
    data = recording.quantise(scene.samples, "cu8")
    recording.write_pair(folder, "air", data, recording.metadata(data, rate, CENTRE))
    return sent, rate


def decode(program, air, descriptors, only):
    command = [program, "decode", "--json", "--quiet", "--descriptors", str(descriptors), *only, str(air)]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    return [record for record in map(json.loads, run.stdout.splitlines()) if record["record"] == "reading"]


def faults_of(sent, heard):
    """What is missing, wrong, counted wrongly or too much, in words."""
    faults, left = [], list(heard)
    for one in sent:
        match = next((r for r in left if r["sensor"] == one.sensor), None)
        if not match:
            faults.append(f"missing {one.sensor} at {one.at_s:.3f} s")
            continue
        left.remove(match)
        if match["absolute_kpa"] != one.kpa or match["temp_c"] != one.temp_c:
            faults.append(f"wrong values of {one.sensor}")
        if match["copies"] != one.copies:
            faults.append(f"{match['copies']} of {one.copies} copies of {one.sensor}")
    return faults + [f"nobody sent {r['sensor']} ({r['confidence']:.3f})" for r in left]


def try_seed(options, seed, kinds, folder):
    rng = np.random.Generator(np.random.PCG64([seed, 77]))
    layout = random_layouts.draw(seed)
    sent, rate = make_recording(layout, rng, numbers(options.snr), options.rough, folder)
    only = [] if options.together else ["--only", name_of(seed)]
    faults = faults_of(sent, decode(options.program, folder / "air.sigmf-meta", kinds, only))
    print(f"{seed}: {layout.modulation} {layout.code} {layout.chip_rate / 1e3:.2f} kchip/s, {layout.deviation / 1e3:.1f} kHz, "
          f"{layout.check}, {layout.bits} bits, {rate / 1e6:.3f} MS/s: {'; '.join(faults) or 'all right'}", flush=True)
    return faults


def name_of(seed):
    return f"random-{seed}"


def write_kinds(folder, seeds):
    folder.mkdir(parents=True, exist_ok=True)
    for seed in seeds:
        whole = descriptor(random_layouts.draw(seed), name_of(seed))
        (folder / f"{name_of(seed)}.yaml").write_text(whole, encoding="utf-8")
    return folder


def numbers(words):
    first, _, last = words.partition("-")
    return float(first), float(last or first)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("program")
    parser.add_argument("--seeds", default="1-40")
    parser.add_argument("--snr", default="18-24", help="power while on over the noise in a band as wide as the chip rate, dB")
    parser.add_argument("--rough", action="store_true", help="soft edges, drift, a spike at 0 Hz, a steady carrier, clicks")
    parser.add_argument("--together", action="store_true", help="listen for all kinds at once")
    parser.add_argument("--keep", help="folder for descriptors and recordings")
    parser.add_argument("--gate", action="store_true")
    options = parser.parse_args()
    first, last = map(int, numbers(options.seeds))
    seeds, bad = range(first, last + 1), 0
    with tempfile.TemporaryDirectory() as scratch:
        place = pathlib.Path(options.keep or scratch)
        kinds = write_kinds(place / "kinds", seeds)
        for seed in seeds:
            folder = place / (str(seed) if options.keep else "air")
            folder.mkdir(exist_ok=True)
            bad += bool(try_seed(options, seed, kinds, folder))
    print(f"{len(seeds) - bad} of {len(seeds)} kinds without a fault")
    return int(options.gate and bad > 0)


if __name__ == "__main__":
    sys.exit(main())
