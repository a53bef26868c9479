#!/usr/bin/python3
"""The recordings in iq_samples/, decoded by the whole program.

run_golden.py --program WHEELHARK --root SOURCE_TREE expect NAME      the readings of one recording are those expected
run_golden.py --program WHEELHARK --root SOURCE_TREE same-bytes NAME  the same bytes however the samples are fed
run_golden.py --program WHEELHARK --root SOURCE_TREE gate             the comparison itself can fail
"""
import argparse
import json
import pathlib
import re
import sys
import tempfile

import fixtures
from program import decode

# What the program prints is rounded; half of the last printed digit and a little.
TOLERANCE = {"gauge_kpa": 0.06, "absolute_kpa": 0.06, "temp_c": 0.06, "offset_s": 0.020}


def differs(key, wanted, got, tolerance):
    if isinstance(wanted, dict):
        return not isinstance(got, dict) or any(differs(k, v, got.get(k), tolerance) for k, v in wanted.items())
    if isinstance(wanted, (int, float)) and not isinstance(wanted, bool):
        allowed = tolerance.get(key, TOLERANCE.get(key, 0))
        return isinstance(got, bool) or not isinstance(got, (int, float)) or abs(got - wanted) > allowed
    return got != wanted


def mismatches(expected, readings):
    """Why the readings are not those expected: an order-free comparison of the keys that are expected."""
    problems, left = [], list(readings)
    for wanted in expected:
        tolerance = wanted.get("tolerance", {})
        keys = [key for key in wanted if key != "tolerance"]
        fitting = [got for got in left
                   if not any(key not in got or differs(key, wanted[key], got[key], tolerance) for key in keys)]
        if fitting:
            left.remove(fitting[0])
        else:
            problems.append("expected, not read: " + json.dumps(wanted))
    return problems + ["read, not expected: " + json.dumps(got) for got in left]


def command_of(fixture):
    return [*fixture.options, fixture.recording]


def check_expect(options):
    fixture = fixtures.Fixture(options.folder, options.name)
    run = decode(options, ["--json", *command_of(fixture)])
    problems = mismatches(fixture.expected, run.records("reading"))
    if run.status != fixture.exit_status:
        problems.append(f"exit status {run.status}, expected {fixture.exit_status}")
    if fixture.exit_status >= 64 and not run.err.strip():
        problems.append("the program failed without a word on stderr")
    judged = decode(options, ["--json", "--expect", fixture.expectation, *command_of(fixture)])
    if judged.status != fixture.exit_status:
        problems.append(f"with --expect: exit status {judged.status}, expected {fixture.exit_status}")
    if problems:
        problems.append("stderr of decode --json:\n" + run.err.decode(errors="replace"))
        problems.append("stderr of decode --expect:\n" + judged.err.decode(errors="replace"))
        explained = decode(options, ["--json", "--explain", *command_of(fixture)])
        problems += [json.dumps(record) for kind in ("burst", "attempt") for record in explained.records(kind)][:60]
    return problems


def same(problems, what, base, run, source_may_differ=False):
    # A file and stdin have other names, which stand in "source" and before the first colon of an error's "what".
    plain = (lambda out: re.sub(rb'"source":"[^"]*"|"what":"[^:"]*:', b"",
                                out)) if source_may_differ else (lambda out: out)
    if run.status != base.status:
        said = run.err.decode(errors="replace")
        problems.append(f"{what}: exit status {run.status} instead of {base.status}: {said}")
    elif plain(run.out) != plain(base.out):
        problems.append(f"{what}: other bytes on stdout\n--- {base.out.decode()}\n+++ {run.out.decode()}")


def check_same_bytes(options):
    """Block size, threads, repetition and locale must not show in the output."""
    fixture = fixtures.Fixture(options.folder, options.name)
    command = ["--json", "--bursts", *command_of(fixture)]
    base = decode(options, command)
    problems = []
    for block in (997, 4096, 65536):
        same(problems, f"--block {block}", base, decode(options, ["--block", block, *command]))
    for threads in (0, 1, 2):
        same(problems, f"--threads {threads}", base, decode(options, ["--threads", threads, *command]))
    same(problems, "--threads 2 --block 1234", base, decode(options, ["--threads", 2, "--block", 1234, *command]))
    for locale in ("C.UTF-8", "de_DE.UTF-8", "tr_TR.UTF-8", "no_SUCH"):
        same(problems, f"LC_ALL={locale}", base, decode(options, command, locale=locale))
    samples = bare_samples(fixture)
    if samples:
        data, given = samples
        with tempfile.NamedTemporaryFile(suffix=".bin") as file:
            file.write(data)
            file.flush()
            from_file = decode(options, ["--json", "--bursts", *given, file.name])
        same(problems, "stdin", from_file, decode(options, ["--json", "--bursts", *given, "-"], stdin=data), True)
        if fixture.expected and not from_file.records("reading"):
            problems.append("no reading from the bare samples")
    return problems


def bare_samples(fixture):
    """Samples and the options to read them bare, for pairs with one plain capture."""
    if fixture.recording.suffix != ".sigmf-meta":
        return None
    meta = json.loads(fixture.recording.read_text(encoding="utf-8"))
    captures = meta.get("captures")
    if not isinstance(captures, list) or len(captures) != 1 or "core:header_bytes" in captures[0]:
        return None
    capture = captures[0]
    given = ["--format", meta["global"]["core:datatype"], "--sample-rate", meta["global"]["core:sample_rate"]]
    if "core:frequency" in capture:
        given += ["--centre", int(capture["core:frequency"])]
    return fixture.recording.with_suffix(".sigmf-data").read_bytes(), given


def check_gate(options):
    """An expectation that is not met must end in exit status 2, in each way it can be unmet."""
    fixture = next(f for f in fixtures.all_fixtures(options.folder)
                   if f.name.startswith("good-") and f.exit_status == 0 and f.expected)
    good = fixture.expected
    other = dict(good[0], sensor="DEADBEEF")
    wrong = {
        "a reading that is not there": good + [other],
        "no reading": [],
        "another sensor": [other] + good[1:],
        "another pressure": [dict(good[0], gauge_kpa=(good[0].get("gauge_kpa") or 0) + 5)] + good[1:],
        "another place": [dict(good[0], offset_s=good[0]["offset_s"] + 0.05)] + good[1:],
        "another number of copies": [dict(good[0], copies=good[0]["copies"] + 1)] + good[1:],
    }
    problems = []
    readings = decode(options, ["--json", *command_of(fixture)]).records("reading")
    if mismatches(good, readings):
        problems.append(f"{fixture.name} itself does not decode as expected")
    for what, lines in wrong.items():
        if not mismatches(lines, readings):
            problems.append(f"the comparison of this test lets pass: {what}")
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl") as file:
            file.writelines(json.dumps(line) + "\n" for line in lines)
            file.flush()
            status = decode(options, ["--json", "--expect", file.name, *command_of(fixture)]).status
        if status != 2:
            problems.append(f"--expect with {what}: exit status {status}, expected 2")
    return problems


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", required=True)
    parser.add_argument("--root", required=True, type=pathlib.Path)
    parser.add_argument("check", choices=("expect", "same-bytes", "gate"))
    parser.add_argument("name", nargs="?")
    options = parser.parse_args()
    options.folder, options.descriptors = options.root / "iq_samples", options.root / "protocols"
    check = {"expect": check_expect, "same-bytes": check_same_bytes, "gate": check_gate}[options.check]
    problems = check(options)
    for problem in problems:
        print(problem)
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
