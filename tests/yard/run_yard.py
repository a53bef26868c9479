#!/usr/bin/python3
"""The demo yard of iq_samples/yard/ from roster import to a verified repair, as its users would do it.

Usage: run_yard.py --program FILE --root DIR

A walk is simulated from the scenario, recorded as IQ, swept from the recording; every planted fault must be found and no
other; then the roster is corrected, the walk after the repair is swept with --verify, and nothing but what was left open on
purpose may remain. Everything is done twice, the second time with other block sizes and numbers of threads: same bytes.
"""
import argparse
import json
import os
import pathlib
import subprocess
import sys
import tempfile

# What iq_samples/yard/before.csv plants, as (unit, position, kind); see its README.
PLANTED = {
    ("Kestrel 7", "2RO", "not-on-record"),
    ("Kestrel 7", "1R", "battery-low"),
    ("T-204", "1LO", "crossed"),
    ("T-204", "2RO", "far-too-low"),
}
# What the repair mends, by the frames heard after its mark.
MENDED = PLANTED - {("Kestrel 7", "1R", "battery-low")}
# Nobody changes a sensor for its battery on that day.
LEFT_OPEN = {("Kestrel 7", "1R", "battery-low")}
FINDINGS = 1  # exit status


class Yard:
    def __init__(self, program, root, folder, threads):
        self.program, self.samples, self.folder, self.threads = program, root / "iq_samples" / "yard", folder, threads
        self.environment = dict(os.environ, XDG_DATA_HOME=str(folder / "data"),
                                XDG_CONFIG_HOME=str(folder / "config"), LC_ALL="C")
        self.root = root

    def run(self, *arguments, status=0):
        command = [str(self.program), *map(str, arguments)]
        done = subprocess.run(command, cwd=self.folder, env=self.environment, capture_output=True, check=False,
                              timeout=280)
        if done.returncode != status:
            sys.exit(f"{' '.join(command)}\nended with {done.returncode}, not {status}\n{done.stdout.decode()}"
                     f"\n{done.stderr.decode()}")
        return done.stdout

    def walk(self, name, time, seed):
        self.run("synth", "--walk", self.samples / f"{name}.csv", "--time", time, "--seed", seed, "--out", name,
                 "--descriptors", self.root / "protocols")

    def sweep(self, name, *arguments, status):
        return self.run("sweep", *arguments, "--from", f"{name}.sigmf-meta", "--steps", f"{name}.steps.csv", "--threads",
                        self.threads, "--descriptors", self.root / "protocols", status=status)

    def findings(self, unit, status):
        lines = self.run("findings", unit, "--json", status=status).decode().splitlines()
        records = [json.loads(line) for line in lines]
        return {(r["unit"], r["position"], r["finding"]) for r in records if r["record"] == "finding"}

    def mended(self, unit, status):
        lines = self.run("findings", unit, "--json", status=status).decode().splitlines()
        records = [json.loads(line) for line in lines]
        return {(r["unit"], r["position"], r["before"]) for r in records
                if r["record"] == "verified" and r["verdict"] == "mended"}


def expect(what, got, wanted):
    if got != wanted:
        sys.exit(f"{what}: wanted {sorted(wanted)}, got {sorted(got)}")


def whole_job(yard):
    """Returns everything that was printed, as one piece of bytes."""
    printed = []
    yard.run("roster", "import", yard.samples / "fleet.csv")
    yard.walk("before", "2026-03-02T07:15:00Z", 1)
    printed.append(yard.sweep("before", "Kestrel 7", "T-204", status=FINDINGS))
    found = yard.findings("Kestrel 7", FINDINGS) | yard.findings("T-204", FINDINGS)
    expect("findings before the repair", found, PLANTED)
    for unit in ("Kestrel 7", "T-204"):
        for form in ([], ["--html"]):
            sheet = yard.run("sheet", unit, *form)
            printed.append(sheet)
            if sheet != yard.run("sheet", unit, *form):
                sys.exit("a sheet printed again differs")
    text = b"".join(printed).decode()
    for needed in ("51E0D3A7", "1373688743", "29 CFR 1910.177"):  # the new ID in hex and decimal, the caution's source
        if needed not in text:
            sys.exit(f"'{needed}' is nowhere on the sheets")
    check_strangers(yard)
    check_records(yard, "store", "export")

    yard.run("roster", "set", "Kestrel 7", "2RO", "--sensor", "51E0D3A7")
    yard.run("roster", "set", "T-204", "1LO", "--sensor", "4C7B2003")
    yard.run("roster", "set", "T-204", "2LO", "--sensor", "4C7B2001")
    yard.walk("after", "2026-03-02T09:40:00Z", 2)
    printed.append(yard.sweep("after", "--verify", "Kestrel 7", "T-204", status=FINDINGS))
    expect("findings after the repair", yard.findings("Kestrel 7", FINDINGS) | yard.findings("T-204", 0), LEFT_OPEN)
    expect("mended", yard.mended("Kestrel 7", FINDINGS) | yard.mended("T-204", 0), MENDED)
    printed.append(yard.run("sheet", "T-204"))
    return b"\n".join(printed)


def check_strangers(yard):
    """The neighbour's sensor and the passing one were heard; neither may be in the store."""
    store = b"".join(path.read_bytes() for path in (yard.folder / "data" / "wheelhark").glob("yard.db*"))
    for stranger in (b"77AA0011", b"66BB0022"):
        if stranger in store:
            sys.exit(f"{stranger.decode()} is somebody else's and was kept")
    if b"4C7B2005" not in store:
        sys.exit("the store lacks the fleet's own readings")


def check_records(yard, *arguments):
    """What a command writes for other programs keeps to the published schema."""
    records = yard.folder / "records.jsonl"
    records.write_bytes(yard.run(*arguments))
    subprocess.run([sys.executable, yard.root / "tests" / "unit" / "source" / "check_records.py",
                    yard.root / "src" / "report" / "schema" / "wheelhark-records.schema.json", records], check=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--program", required=True, type=pathlib.Path)
    parser.add_argument("--root", required=True, type=pathlib.Path)
    options = parser.parse_args()
    outputs = []
    for threads in (0, 3):
        with tempfile.TemporaryDirectory() as folder:
            outputs.append(whole_job(Yard(options.program.resolve(), options.root.resolve(), pathlib.Path(folder),
                                          threads)))
    if outputs[0] != outputs[1]:
        sys.exit("same data, other bytes")
    print(f"{len(PLANTED)} planted faults found and no other; {len(outputs[0])} bytes alike twice")


if __name__ == "__main__":
    main()
