"""Settings from outside: kept, told when bad, and used by the commands.

test_settings_command.py PROGRAM SOURCE_TREE
"""
import json
import os
import pathlib
import stat
import subprocess
import sys
import tempfile
import unittest

import jsonschema

PROGRAM = sys.argv[1]
ROOT = pathlib.Path(sys.argv[2])


class Settings(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.path = self.folder / "config" / "wheelhark" / "settings.yaml"

    def run_program(self, *arguments, status=0, home="config"):
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        place = dict(inherited, HOME=str(self.folder), XDG_DATA_HOME=str(self.folder / "data"), LC_ALL="C",
                     XDG_CONFIG_HOME=str(self.folder / home) if home else home)
        run = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, timeout=60, check=False, env=place)
        self.assertEqual(run.returncode, status, run.stderr.decode())
        return run

    def settings(self, *arguments, **more):
        return self.run_program("settings", *arguments, **more)

    def values(self):
        return {r["name"]: r for r in map(json.loads, self.settings("list", "--json").stdout.splitlines())}

    def write(self, text):
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.path.write_text(text)

    def test_set_and_unset(self):
        self.settings("set", "Pressure", "psi")
        self.settings("set", "low share", "92 %")
        self.assertEqual(self.path.read_text(), "wheelhark settings: 1\npressure: psi\nlow share: 92 %\n")
        self.assertEqual(stat.S_IMODE(self.path.parent.stat().st_mode), 0o700)
        values = self.values()
        self.assertEqual((values["low share"]["value"], values["low share"]["yours"]), ("92 %", True))
        self.assertFalse(values["high share"]["yours"])
        self.settings("set", "altitude", "1500 m")
        self.settings("set", "air pressure", "98 kPa")  # the two exclude each other
        self.assertNotIn("altitude", self.path.read_text())
        self.settings("unset", "low share")
        self.assertFalse(self.values()["low share"]["yours"])
        self.assertEqual([p.name for p in self.path.parent.iterdir()], ["settings.yaml"])

    def test_records_keep_to_their_schema(self):
        schema = json.loads((ROOT / "src/report/schema/wheelhark-records.schema.json").read_text())
        for kind in schema["$defs"].values():
            if kind.get("type") == "object":
                kind["additionalProperties"] = False
        validator = jsonschema.Draft202012Validator(schema)
        self.settings("set", "who", "Kim")
        for record in self.values().values():
            validator.validate(record)

    def test_refused_values_change_nothing(self):
        self.settings("set", "who", "Kim")
        before = self.path.read_bytes()
        for name, value, word in [("presure", "psi", b"did you mean 'pressure'?"), ("pressure", "atm", b"no unit"),
                                  ("far too low share", "70 %", b"cannot be set lower"),
                                  ("frequency", "136", b"433.92 MHz"), ("altitude", "high", b"no height")]:
            self.assertIn(word, self.settings("set", name, value, status=64).stderr)
            self.assertEqual(self.path.read_bytes(), before)
        self.settings("set", "who", status=64)
        self.settings("sett", status=64)

    def test_bad_file_is_told_and_left_alone(self):
        self.write("who: Kim\npresure: psi\nlow share: 10 %\n")
        before = self.path.read_bytes()
        run = self.settings("check", status=78)
        self.assertIn(f"{self.path}:2:1: error: there is no setting 'presure'".encode(), run.stderr)
        self.assertIn(f"{self.path}:3:12: error: low share: 10 % is not between 80 and 100 %".encode(), run.stderr)
        self.settings("set", "who", "Lee", status=78)
        self.assertEqual(self.path.read_bytes(), before)
        for command in (["roster", "list"], ["decode", "x.cu8"], ["listen"], ["findings"]):
            self.assertIn(b"did you mean 'pressure'?", self.run_program(*command, status=78).stderr)

    def test_another_file_is_checked(self):
        other = self.folder / "other.yaml"
        other.write_text("pressure: bar\n")
        self.assertEqual(self.settings("check", other).stdout.decode(), f"{other}: good\n")
        self.settings("check", self.folder / "none.yaml", status=66)

    def test_place(self):
        self.settings("set", "who", "Kim", home="")  # an empty XDG_CONFIG_HOME: below HOME
        self.assertTrue((self.folder / ".config" / "wheelhark" / "settings.yaml").exists())

    def test_commands_use_them(self):
        self.run_program("roster", "add", "A", "--layout", "single", "--target", "100 psi")
        self.settings("set", "pressure", "psi")
        self.assertIn(b"Pressures in psi", self.run_program("roster", "show", "A").stdout)
        self.assertIn(b"Pressures in bar", self.run_program("roster", "show", "A", "--units", "bar").stdout)
        recording = ROOT / "iq_samples" / "good-fsk-manchester.sigmf-meta"
        sea = json.loads(self.run_program("decode", "--json", recording).stdout.splitlines()[0])
        self.settings("set", "altitude", "1500 m")
        high = json.loads(self.run_program("decode", "--json", recording).stdout.splitlines()[0])
        said = json.loads(self.run_program("decode", "--json", "--altitude", "0 m", recording).stdout.splitlines()[0])
        # 101.325 - 84.556 kPa: US Standard Atmosphere 1976
        self.assertAlmostEqual(high["gauge_kpa"] - sea["gauge_kpa"], 16.77, delta=0.11)
        self.assertEqual(said, sea)
        self.settings("set", "low share", "93 %")
        rules = [json.loads(line) for line in self.run_program("findings", "--rules", "--json").stdout.splitlines()]
        self.assertEqual([r["value"] for r in rules if r["name"] == "low share"], [93.0])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
