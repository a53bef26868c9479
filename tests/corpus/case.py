"""A case is one recording: a function that fills it, its name, and what it proves."""
import hashlib
import json
import pathlib

import listen
import recording
from scene import Scene

CENTRE = 433.92e6
CASES = {}


def case(name, proves):
    """Register the decorated function(case) as the maker of recording `name`."""
    def register(make):
        if name in CASES:
            raise ValueError(f"two cases are called {name}")
        CASES[name] = (make, proves)
        return make
    return register


def without(*path):
    """For Case.pair(alter=...): take the entry at `path` out of the description."""
    def alter(meta):
        for key in path[:-1]:
            meta = meta[key]
        del meta[path[-1]]
    return alter


class Case:
    """Handed to the function that makes a recording; knows where to put it."""

    def __init__(self, name, folder):
        self.name, self.folder = name, pathlib.Path(folder)
        # A seed of its own that does not change when cases are added.
        self.seed = int.from_bytes(hashlib.sha256(name.encode()).digest()[:4], "big")
        self.made = ""

    def scene(self, seconds, rate=250e3, **more):
        return Scene(seconds, rate, self.seed, **more)

    def _expect(self, readings, exit_status, options=""):
        lines = "".join(json.dumps(reading) + "\n" for reading in sorted(readings, key=lambda r: r["offset_s"]))
        self.write(".expect.jsonl", lines.encode())
        if exit_status:
            self.write(".exit", f"{exit_status}\n".encode())
        if options:
            self.write(".options", (options + "\n").encode())

    def write(self, suffix, data):
        (self.folder / (self.name + suffix)).write_bytes(data)

    def _heard(self, scene, data, datatype):
        """A recording that must be read holds its frames: at most one chip in 25 wrong, chip by chip."""
        if self.name.startswith("good-"):
            samples = listen.dequantise(data, datatype)
            for burst in scene.bursts:
                errors = listen.chip_errors(samples, scene.rate, burst)
                if errors > 0.04:
                    raise AssertionError(f"{self.name}: {errors:.1%} of the chips at {burst.start_s} s are lost")

    def describe(self, scene, datatype):
        count = len(scene.bursts)
        self.made = f"{scene.count / scene.rate * 1e3:.0f} ms at {scene.rate / 1e3:g} kS/s, {datatype}" \
            + (f", {count} frame{'s' if count > 1 else ''}" if count else "")

    def meta(self, scene, data, datatype, centre, **more):
        notes = [recording.annotation(b, scene.rate, centre) for b in scene.bursts]
        for note in notes:  # what the end of the recording cuts off
            note["core:sample_count"] = max(0, min(note["core:sample_count"], scene.count - note["core:sample_start"]))
        notes = [note for note in notes if note["core:sample_count"] > 0]
        return recording.metadata(data, scene.rate, centre, datatype, notes, description=CASES[self.name][1], **more)

    def pair(self, scene, readings=(), exit_status=0, datatype="cu8", centre=CENTRE, alter=None, cut=None, **more):
        """A SigMF pair. `alter(meta)` changes the description last and may return bytes; `cut(data)` the samples,
        after the hash was taken."""
        data = recording.quantise(scene.samples, datatype)
        self._heard(scene, data, datatype)
        meta = self.meta(scene, data, datatype, centre, **more)
        if alter:
            changed = alter(meta)
            meta = meta if changed is None else changed
        recording.write_pair(self.folder, self.name, cut(data) if cut else data, meta)
        self.describe(scene, datatype)
        self._expect(readings, exit_status)

    def archive(self, scene, readings=(), exit_status=0, datatype="cu8", centre=CENTRE, cut=None):
        data = recording.quantise(scene.samples, datatype)
        self._heard(scene, data, datatype)
        packed = recording.archive(self.name, data, self.meta(scene, data, datatype, centre))
        self.write(".sigmf", cut(packed) if cut else packed)
        self.describe(scene, datatype + " in a SigMF archive")
        self._expect(readings, exit_status)

    def file(self, suffix, data, what, readings=(), exit_status=0, options=""):
        """One file of any kind."""
        self.write(suffix, data)
        self.made = what
        self._expect(readings, exit_status, options)

    def bare(self, scene, suffix, datatype, readings=(), exit_status=0, centre=CENTRE, cut=None):
        data = recording.quantise(scene.samples, datatype)
        self._heard(scene, data, datatype)
        options = f"--format {datatype.split('_')[0]} --sample-rate {scene.rate:.0f} --centre {centre:.0f}"
        self.file(suffix, cut(data) if cut else data, "", readings, exit_status, options)
        self.describe(scene, f"bare {datatype}")
