#!/usr/bin/python3
"""iq_samples/README.md against the folder: every file is listed with its SHA-256, nothing is listed that is not there,
nothing is too large, and the recordings that must stay silent outnumber those that must speak."""
import hashlib
import pathlib
import re
import sys

import fixtures

FILE_MOST, FOLDER_MOST = 150 * 1024, 4 * 1024 * 1024


def problems_of(folder):
    text = (folder / "README.md").read_text(encoding="utf-8")
    listed = dict((name, digest) for digest, name in re.findall(r"^([0-9a-f]{64})  (\S+)$", text, re.M))
    present = {path.name: path for path in folder.iterdir()
               if path.is_file() and path.name != "README.md"}
    yield from (f"{name}: listed, not there" for name in sorted(listed.keys() - present.keys()))
    for name, path in sorted(present.items()):
        if name not in listed:
            yield f"{name}: not listed"
        elif hashlib.sha256(path.read_bytes()).hexdigest() != listed[name]:
            yield f"{name}: other content than listed"
        if path.stat().st_size > FILE_MOST:
            yield f"{name}: {path.stat().st_size} bytes, {FILE_MOST} at most"
    whole = sum(path.stat().st_size for path in present.values())
    if whole > FOLDER_MOST:
        yield f"{whole} bytes in all, {FOLDER_MOST} at most"

    names = [fixture.name for fixture in fixtures.all_fixtures(folder)]
    claimed = {path.name for fixture in fixtures.all_fixtures(folder) for path in fixture.files}
    yield from (f"{name}: belongs to no expectation" for name in sorted(present.keys() - claimed))
    for name in names:
        if f"| {name} |" not in text:
            yield f"{name}: the catalogue does not say what it proves"
        if not name.startswith(("good-", "bad-", "unsupported-")):
            yield f"{name}: neither good-, bad- nor unsupported-"
    for fixture in fixtures.all_fixtures(folder):
        if fixture.name.startswith("good-") != bool(fixture.expected):
            yield f"{fixture.name}: good ones have readings, the others have none"
    good = sum(name.startswith("good-") for name in names)
    bad = sum(name.startswith("bad-") for name in names)
    if not 0 < good < bad:
        yield f"{good} good and {bad} bad recordings: the bad must outnumber the good"


def main():
    problems = list(problems_of(pathlib.Path(sys.argv[1])))
    for problem in problems:
        print(problem)
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
