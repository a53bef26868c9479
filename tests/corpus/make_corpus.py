#!/usr/bin/python3
"""Make the recordings of iq_samples/ with what they must decode to.

This is a transmitter and a radio band of its own: it shares no code with the program, so that what one gets wrong the
other shows. Layouts are written out from the plain meaning of the descriptor files (layouts.py).

    make_corpus.py                   all recordings and the catalogue, into iq_samples/
    make_corpus.py --only NAME...    only these, and the catalogue
    make_corpus.py --folder DIR      somewhere else
    make_corpus.py --list            names and what they prove
    make_corpus.py --self-check      check the maker against published values; makes nothing
"""
import argparse
import hashlib
import pathlib
import sys

import cases_bad
import cases_foreign
import cases_good
import cases_kinds
import cases_unsupported
import cases_wrong
import checksums
import layouts
import linecodes
import listen
import modulator
import recording
import scene
from case import CASES, Case

FOLDER = pathlib.Path(__file__).resolve().parents[2] / "iq_samples"
# Each of these registers its cases when it is imported.
PARTS = (cases_kinds, cases_good, cases_wrong, cases_foreign, cases_bad, cases_unsupported)
HEAD = """# Recordings

Written by `tests/corpus/make_corpus.py`; do not edit. All sensors, frames and places are invented. Nothing here was
received from the air, and no real product's layout is among it.

Beside each recording stands `NAME.expect.jsonl`, the readings that must come out (empty: none), `NAME.exit` when the
exit status of the program must not be 0, and `NAME.options` when the samples are bare. `good-*` must be read, `bad-*`
must give no reading, `unsupported-*` must be refused in plain words.

Strengths are signal power while on over the noise power in a band as wide as the chip rate; the ordinary receiver noise
has a standard deviation of 3 steps of an 8-bit converter. `offset_s` is the start of the first copy.

| recording | what it proves | how made | seed |
|---|---|---|---|
"""


def self_check():
    for module in (checksums, linecodes, modulator, scene, recording, listen, layouts):
        module.self_check()


def made_text(folder, name):
    """The `how made` column survives a run with --only: it is read back from the catalogue."""
    readme = folder / "README.md"
    for line in readme.read_text(encoding="utf-8").split("\n") if readme.is_file() else []:
        fields = [field.strip() for field in line.split(" | ")]
        if len(fields) == 4 and fields[0].lstrip("| ") == name:
            return fields[2]
    return "?"


def write_catalogue(folder, made):
    lines = [HEAD]
    for name in sorted(CASES):
        how = made.get(name) or made_text(folder, name)
        lines.append(f"| {name} | {CASES[name][1]} | {how} | {Case(name, folder).seed} |\n")
    files = sorted(path for path in folder.iterdir() if path.name != "README.md")
    digests = [f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n" for path in files]
    lines += ["\nSHA-256 of every file:\n\n```\n", *digests, "```\n"]
    (folder / "README.md").write_text("".join(lines), encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", nargs="+", metavar="NAME")
    parser.add_argument("--folder", type=pathlib.Path, default=FOLDER)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--self-check", action="store_true")
    options = parser.parse_args()
    self_check()
    if options.self_check:
        return 0
    if options.list:
        for name in sorted(CASES):
            print(f"{name:44} {CASES[name][1]}")
        return 0
    unknown = set(options.only or ()) - CASES.keys()
    if unknown:
        print(f"no such case: {', '.join(sorted(unknown))}", file=sys.stderr)
        return 1
    options.folder.mkdir(exist_ok=True)
    made = {}
    for name in options.only or sorted(CASES):
        for path in options.folder.glob(name + ".*"):
            path.unlink()
        work = Case(name, options.folder)
        CASES[name][0](work)
        made[name] = work.made
    write_catalogue(options.folder, made)
    return 0


if __name__ == "__main__":
    sys.exit(main())
