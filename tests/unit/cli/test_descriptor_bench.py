"""The researcher's side of 'descriptor': try, conflicts and pack.

test_descriptor_bench.py PROGRAM SOURCE_TREE
"""
import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM = sys.argv[1]
ROOT = pathlib.Path(sys.argv[2])
SHIPPED = ROOT / "protocols"


class BenchTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        self.place = dict(inherited, HOME=str(self.folder), XDG_DATA_HOME=str(self.folder / "data"),
                          XDG_CONFIG_HOME=str(self.folder / "config"), LC_ALL="C")

    def run_program(self, *arguments, status=0):
        run = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, timeout=280, check=False,
                             env=self.place, cwd=self.folder, text=True)
        self.assertEqual(run.returncode, status, run.stdout + run.stderr)
        return run

    def descriptor(self, name, source="demo-fsk-manchester", change=lambda text: text):
        text = (SHIPPED / (source + ".yaml")).read_text()
        path = self.folder / (name + ".yaml")
        path.write_text(change(re.sub("(?m)^name: .*$", "name: " + name, text)))
        return path

    def record(self, name, *sensors):
        arguments = []
        for descriptor, sensor in sensors:
            arguments += (["--and"] if arguments else []) + [descriptor, "--set", "sensor=" + sensor, "--snr", "20"]
        self.run_program("synth", *arguments, "--sample-rate", "250k", "--out", self.folder / name)
        return self.folder / (name + ".sigmf-meta")


class Try(BenchTest):
    def test_counts(self):
        recording = self.record("one", ("demo-fsk-manchester", "0A1B2C3D"), ("demo-ook-manchester", "9C0FFEE"))
        text = self.run_program("descriptor", "try", self.descriptor("mine"), recording).stdout
        stages = {line.split()[0]: line.split()[1:3] for line in text.splitlines()[2:8]}
        own, other = 4, 3  # copies that the two descriptors send, each a burst
        self.assertEqual(stages["detect"][0], str(own + other))
        self.assertEqual(stages["reading"], [str(own), "0"])
        self.assertEqual(sum(int(lost) for _, lost in stages.values()), other)
        self.assertEqual(len(re.findall(r"(?m)^burst \d+, .*: lost at \w+: ", text)), other)
        self.assertIn("4 of 7 bursts decoded, 1 reading\n", text)

    def test_nothing_fits(self):
        recording = self.record("one", ("demo-fsk-manchester", "0A1B2C3D"))
        path = self.descriptor("mine", change=lambda text: text.replace("rate: 20 k", "rate: 14 k"))
        self.assertIn("rate: 14 k", path.read_text())
        text = self.run_program("descriptor", "try", path, recording).stdout
        self.assertEqual(len(re.findall(r"(?m)^burst \d+, .*: lost at \w+: ", text)), 4)
        self.assertIn("0 of 4 bursts decoded, 0 readings\n", text)

    def test_watch(self):
        recording = self.record("one", ("demo-fsk-manchester", "0A1B2C3D"))
        path = self.descriptor("mine")
        good = path.read_text()
        with open(self.folder / "told", "wb") as told:
            run = subprocess.Popen([PROGRAM, "descriptor", "try", "--watch", str(path), str(recording)], stdout=told,
                                   stderr=subprocess.STDOUT, env=self.place)
        try:
            self.wait_for("4 of 4 bursts decoded", 1)
            path.write_text(good.replace("modulation: fsk", "modulation: fks"))  # a slip: told, and waited out
            self.wait_for("fks", 1)
            moved = self.folder / "other"
            moved.write_text(good)
            os.replace(moved, path)  # as many editors save
            self.wait_for("4 of 4 bursts decoded", 2)
            run.send_signal(signal.SIGINT)
            self.assertEqual(run.wait(30), 0)
        finally:
            run.kill()

    def wait_for(self, text, times):
        for _ in range(600):
            told = (self.folder / "told").read_text()
            if told.count(text) >= times and told.endswith("Ctrl-C ends\n"):
                return
            time.sleep(0.1)
        self.fail(told)

    def test_use(self):
        self.run_program("descriptor", "try", self.descriptor("mine"), status=64)
        self.run_program("descriptor", "try", self.folder / "none.yaml", "x", status=66)
        self.run_program("descriptor", "try", self.descriptor("mine"), "none.sigmf-meta", status=66)
        self.run_program("descriptor", "try", self.descriptor("mine"), "127.0.0.1:9", status=66)


class Conflicts(BenchTest):
    def test_none(self):
        recording = self.record("one", ("demo-fsk-manchester", "0A1B2C3D"), ("demo-ook-manchester", "9C0FFEE"))
        text = self.run_program("descriptor", "conflicts", SHIPPED / "demo-fsk-manchester.yaml", recording, "--noise",
                                "0.5").stdout
        self.assertIn("0 conflicts\n", text)
        # three over the time: 3.00 at 95 % when none was seen (Particle Data Group, Statistics, Poisson limits)
        self.assertIn("white noise: 0 readings in 0.5 min: fewer than 359.5 an hour", text)
        self.assertIn("1 before, 2 with demo-fsk-manchester, 1 of them by it, 0 gone", text)

    def test_twin(self):
        """The same layout under another name, and with a weaker check: each reads what the other sends."""
        twin = self.descriptor("a-twin")
        recording = self.record("one", ("demo-fsk-manchester", "0A1B2C3D"))
        text = self.run_program("descriptor", "conflicts", twin, recording, "--noise", "0.2", status=1).stdout
        for sender, hearer in (("a-twin", "demo-fsk-manchester"), ("demo-fsk-manchester", "a-twin")):
            found = re.search(rf"{hearer} reads (\d+) of 64 frames of {sender}\n", text)
            self.assertTrue(found, text)
            self.assertGreaterEqual(int(found[1]), 55)
        self.assertIn("is gone; 0A1B2C3D of a-twin", text)
        self.assertRegex(text, r"\d+ bits of checks and constants")

    def test_weak_check(self):
        """Without its check anything after the sync is read: the forged frames say so."""
        def weaken(text):
            return re.sub(r"(?ms)^checks:.*?(?=^fields:)", "", text)
        loose = self.descriptor("loose", change=weaken)
        text = self.run_program("descriptor", "conflicts", loose, "--noise", "0.1", status=1).stdout
        found = re.search(r"payload at random: (\d+) readings of 300", text)
        self.assertGreater(int(found[1]), 30, text)


class Pack(BenchTest):
    def test_disguised(self):
        recording = self.record("secret-yard", ("demo-fsk-manchester", "0A1B2C3D"), ("demo-fsk-manchester", "0A1B2C3E"),
                                ("demo-fsk-manchester", "0A1B2C3D"))
        path = self.descriptor("mine", change=lambda text: text + "\n# heard at the gate by the day shift\n")
        run = self.run_program("descriptor", "pack", path, recording, "--out", "packed")
        self.assertIn("1 recording, 3 readings, 2 IDs replaced", run.stdout)
        folder = self.folder / "packed"
        names = sorted(file.name for file in folder.iterdir())
        self.assertEqual(names, ["mine-1.expect.jsonl", "mine-1.sigmf-data", "mine-1.sigmf-meta", "mine.yaml"])
        expected = [json.loads(line) for line in (folder / "mine-1.expect.jsonl").read_text().splitlines()]
        first, second, again = (line["sensor"] for line in expected)
        self.assertEqual(first, again)
        self.assertNotEqual(first, second)
        for file in folder.iterdir():  # the frames hold the ID as whole bytes, so hex would show it
            for word in ("0A1B2C3D", "0A1B2C3E", "secret-yard", "day shift"):
                if file.suffix != ".sigmf-data":
                    self.assertNotIn(word, file.read_text(), file.name)
        meta = json.loads((folder / "mine-1.sigmf-meta").read_text())
        self.assertTrue(meta["global"]["core:description"].startswith("synthetic"))
        self.assertNotIn("core:datetime", meta["captures"][0])
        self.run_program("descriptor", "check", folder / "mine.yaml")
        self.run_program("decode", "--descriptors", folder / "mine.yaml", "--only", "mine", "--expect",
                         folder / "mine-1.expect.jsonl", folder / "mine-1.sigmf-meta")
        # the same values as were sent, from a decoder's view of the original
        sent = self.run_program("decode", "--json", "--descriptors", path, "--only", "mine", recording).stdout
        readings = [r for r in map(json.loads, sent.splitlines()) if r["record"] == "reading"]
        self.assertEqual([r["gauge_kpa"] for r in readings], [e["gauge_kpa"] for e in expected])
        self.assertNotEqual([r["frame"] for r in readings], [e["frame"] for e in expected])

    def test_real(self):
        recording = self.record("real", ("demo-fsk-manchester", "0A1B2C3D"), ("demo-ook-manchester", "9C0FFEE"))
        path = self.descriptor("mine")
        self.run_program("descriptor", "pack", "--keep-ids", path, recording, "--out", "packed")
        folder = self.folder / "packed"
        self.assertIn("0A1B2C3D", (folder / "mine-1.expect.jsonl").read_text())
        self.run_program("decode", "--descriptors", folder / "mine.yaml", "--only", "mine", "--expect",
                         folder / "mine-1.expect.jsonl", folder / "mine-1.sigmf-meta")
        sent = recording.with_suffix(".sigmf-data").read_bytes()
        kept = (folder / "mine-1.sigmf-data").read_bytes()
        self.assertIn(kept, sent)  # one stretch of the real samples

    def test_use(self):
        recording = self.record("one", ("demo-ook-manchester", "9C0FFEE"))
        path = self.descriptor("mine")
        self.run_program("descriptor", "pack", path, recording, status=64)
        run = self.run_program("descriptor", "pack", path, recording, "--out", "packed", status=65)
        self.assertIn("nothing that the descriptor reads", run.stderr)
        run = self.run_program("descriptor", "pack", path, recording, "--out", "packed", status=73)
        self.assertIn("not there yet", run.stderr)
        partial = SHIPPED / "demo-fsk-partial.yaml"
        run = self.run_program("descriptor", "pack", partial, recording, "--out", "other", status=65)
        self.assertIn("--keep-ids", run.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
