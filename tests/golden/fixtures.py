"""The recordings of iq_samples/ and how to hand one to the program.

A fixture NAME is its recording (NAME.sigmf-meta with NAME.sigmf-data, or NAME.sigmf, .wav, .cu8, .ci8, .ci16, .cf32)
and beside it
    NAME.expect.jsonl   the readings that must appear, one JSON object a line; empty: none
    NAME.exit           the exit status of the program, when it is not 0
    NAME.options        further options of `wheelhark decode`, for bare samples
"""
import json
import pathlib
import shlex

RECORDINGS = (".sigmf-meta", ".sigmf", ".wav", ".cu8", ".ci8", ".ci16", ".cf32")


class Fixture:
    def __init__(self, folder, name):
        self.folder, self.name = pathlib.Path(folder), name

    def _beside(self, suffix):
        return self.folder / (self.name + suffix)

    @property
    def recording(self):
        for suffix in RECORDINGS:
            if self._beside(suffix).is_file():
                return self._beside(suffix)
        raise FileNotFoundError(f"{self.name}: an expectation without a recording in {self.folder}")

    @property
    def expectation(self):
        return self._beside(".expect.jsonl")

    @property
    def expected(self):
        return [json.loads(line) for line in self.expectation.read_text(encoding="utf-8").splitlines() if line.strip()]

    @property
    def exit_status(self):
        path = self._beside(".exit")
        return int(path.read_text()) if path.is_file() else 0

    @property
    def options(self):
        path = self._beside(".options")
        return shlex.split(path.read_text()) if path.is_file() else []

    @property
    def files(self):
        """Every file of the fixture, for the catalogue."""
        return sorted(path for path in self.folder.iterdir() if path.name.split(".")[0] == self.name)


def all_fixtures(folder):
    folder = pathlib.Path(folder)
    return [Fixture(folder, path.name.removesuffix(".expect.jsonl")) for path in sorted(folder.glob("*.expect.jsonl"))]
