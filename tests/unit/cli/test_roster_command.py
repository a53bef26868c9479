"""The roster from outside: what a technician does with it, exit statuses, the round trip through a spreadsheet's table.

test_roster_command.py PROGRAM SOURCE_TREE
"""
import csv
import io
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
HOSTILE = ['=HYPERLINK("http://x")', "+1", "-2", "@sum", "'=x", "''", "a,b", "a;b", 'say "hi"', '"', "4.29E+09", "00042",
           "0x12", "Änderung ☠", "sep=;", "#", "unit", "1L", "--help"]


class RosterTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def run_program(self, *arguments, status=0, text=None):
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        place = dict(inherited, HOME=str(self.folder), XDG_DATA_HOME=str(self.folder / "data"),
                     XDG_CONFIG_HOME=str(self.folder / "config"), LC_ALL="C")
        run = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, timeout=60, check=False, env=place,
                             input=text)
        self.assertEqual(run.returncode, status, run.stderr.decode())
        return run

    def roster(self, *arguments, **more):
        return self.run_program("roster", *arguments, **more)

    def import_text(self, text, *arguments, **more):
        return self.roster("import", *arguments, "-", text=text.encode(), **more)

    def export(self, *arguments):
        return self.roster("export", *arguments).stdout

    def rows(self, *arguments):
        return list(csv.DictReader(io.StringIO(self.export(*arguments).decode("utf-8-sig"), newline="")))

    def records(self, *arguments):
        return [json.loads(line) for line in self.roster(*arguments, "--json").stdout.splitlines()]


class Units(RosterTest):
    def test_empty(self):
        run = self.roster("list")
        self.assertEqual(run.stdout, b"")
        self.assertIn(b"roster is empty", run.stderr)
        self.assertFalse((self.folder / "data").exists())  # looking makes nothing

    def test_add_set_show_remove(self):
        self.roster("add", "T-204", "--layout", "trailer-tandem", "--target", "100 psi", "--first-axle", "4")
        self.roster("set", "T-204", "1lo", "--sensor", "0x0a1b2c3d")
        self.roster("set", "T-204", "2", "--target", "7.5 bar", "--load-note", "load range H")
        self.roster("set", "T-204", "1LO,2RI", "--sidewall-max", "120", "--units", "psi")
        wheels = {r["position"]: r for r in self.records("show", "T-204") if r["record"] == "wheel"}
        self.assertEqual(list(wheels), ["1LO", "1LI", "2LO", "2LI", "2RO", "2RI", "1RO", "1RI"])
        self.assertEqual(wheels["1LO"]["sensor"], "0A1B2C3D")
        self.assertEqual(wheels["1LO"]["sensor_decimal"], str(0x0A1B2C3D))
        self.assertEqual(wheels["1LO"]["j1939_location"], "0x00")
        self.assertEqual(wheels["1LO"]["centre8_location"], "0x16")
        self.assertEqual(wheels["1RO"]["x12_location"], "R0F")
        self.assertNotIn("sensor", wheels["1LI"])
        self.assertEqual(wheels["1LI"]["target_gauge_kpa"], 689.5)  # 100 psi of 6.894757 kPa (NIST SP 811)
        self.assertEqual(wheels["2RI"]["target_gauge_kpa"], 750.0)
        self.assertEqual(wheels["2RI"]["sidewall_max_gauge_kpa"], 827.4)
        self.assertEqual(wheels["2LO"]["load_note"], "load range H")
        shown = self.roster("show", "T-204", "--codes", "--units", "bar").stdout.decode()
        self.assertIn("called axle 4 to 5", shown)
        self.assertRegex(shown, r"1LO +0x00 +0x16 +LOF +0A1B2C3D +169552957 +6\.89 +8\.27")
        self.roster("set", "T-204", "1LO", "--sensor", "none")
        self.assertNotIn("sensor", self.records("show", "T-204")[1])
        self.roster("remove", "T-204")
        self.assertEqual(self.roster("list").stdout, b"")

    def test_records_keep_to_their_schema(self):
        schema = json.loads((ROOT / "src/report/schema/wheelhark-records.schema.json").read_text())
        for kind in schema["$defs"].values():
            if kind.get("type") == "object":
                kind["additionalProperties"] = False
        validator = jsonschema.Draft202012Validator(schema)
        self.roster("add", "A", "--layout", "single dual dual dual", "--carrier", "315 MHz", "--note", "x")
        self.roster("set", "A", "1L", "--sensor", "0x12345678", "--descriptor", "demo-fsk-manchester", "--load-note", "G",
                    "--target", "700 kPa", "--sidewall-max", "830 kPa")
        self.roster("set", "A", "1R", "--sensor", "~AB12CD")
        records = self.records("show", "A") + self.records("list")
        self.assertEqual([r["record"] for r in records], ["unit"] + ["wheel"] * 14 + ["unit"])
        for record in records:
            validator.validate(record)

    def test_refusals(self):
        self.roster("add", "T-204", "--layout", "dual")
        before = self.export()
        for arguments, status, word in [
            (["add", "T-204", "--layout", "dual"], 64, b"on the roster already"),
            (["add", "T-205"], 64, b"--layout"),
            (["add", "T-205", "--layout", "duel"], 64, b"there is no layout"),
            (["add", " T", "--layout", "dual"], 64, b"a blank at the start"),
            (["set", "T-204", "1L", "--target", "700"], 64, b"has no wheel '1L'"),
            (["set", "T-204", "1", "--sensor", "0x12"], 64, b"cannot be at 4 wheels"),
            (["set", "T-204", "1LO", "--sensor", "12345678"], 64, b"hex or decimal"),
            (["set", "T-204", "1LO", "--sensor", "4.29E+09"], 64, b"spreadsheet"),
            (["set", "T-204", "1LO", "--target", "7 kPa"], 64, b"is it in bar?"),
            (["set", "T-204", "1LO", "--target", "high"], 64, b"is no pressure"),
            (["set", "T-204", "--sensor", "0x12"], 64, b"name the wheels"),
            (["set", "T-204", "1LO"], 64, b"say what to set"),
            (["set", "T-204", "1LO", "--load-note", "x" * 96], 64, b"95 at most"),
            (["set", "T-20", "1LO", "--note", "x"], 66, b"did you mean 'T-204'?"),
            (["show", "T-20"], 66, b"did you mean 'T-204'?"),
            (["remove", "nothing"], 66, b"no unit 'nothing'"),
            (["improt", "x"], 64, b"did you mean 'import'?"),
            (["import"], 64, b"takes the table"),
            (["import", self.folder / "none.csv"], 66, b"cannot be opened"),
            (["export", self.folder / "none" / "x.csv"], 73, b"cannot be written"),
        ]:
            run = self.roster(*arguments, status=status)
            self.assertIn(word, run.stderr)
            self.assertEqual(self.export(), before)

    def test_sensor_twice_is_told(self):
        self.roster("add", "A", "--layout", "single")
        self.roster("set", "A", "1L", "--sensor", "0xABC")
        run = self.roster("set", "A", "1R", "--sensor", "0xABC")
        self.assertIn(b"on record at two wheels: A 1L and A 1R", run.stderr)


class Tables(RosterTest):
    def test_errors_change_nothing(self):
        self.import_text("unit,position,sensor hex\nA,1L,0x11111111\n")
        before = self.export()
        run = self.import_text("unit;position;sensor;target psi\r\nA;1L;12345678;100\r\nB;1X;0xAB;1,000\r\n", status=65)
        told = run.stderr.decode()
        self.assertIn("standard input:2:3: error: cell C2: '12345678' can be hex or decimal", told)
        self.assertIn("standard input:3:2: error: cell B3: '1X' is no position", told)
        self.assertIn("standard input: 2 errors, 0 warnings", told)
        self.assertEqual(self.export(), before)
        self.import_text("unit;position;sensor\nA;1L;12345678\n", "--ids", "decimal")
        self.assertEqual(self.rows()[0]["sensor hex"], "0x00BC614E")  # 12345678 = 0xBC614E

    def test_check_changes_nothing(self):
        table = self.folder / "fleet.csv"
        table.write_text("unit,position,sensor hex\nA,1L,0x11111111\nA,1R,0x11111111\n")
        run = self.roster("check", table)
        self.assertIn(b"good: 1 unit (1 new), 2 wheels named, 2 sensors", run.stdout)
        self.assertIn(b"warning: cell C3: sensor 11111111 is on record at two wheels", run.stderr)
        self.assertEqual(self.roster("list").stdout, b"")
        table.write_text("unit,position\nA,1Q\n")
        self.roster("check", table, status=65)

    def test_replace(self):
        self.import_text("unit,position\nA,1L\nB,1L\n")
        self.import_text("unit,position\nC,1L\n")
        self.assertEqual({r["unit"] for r in self.rows()}, {"A", "B", "C"})
        self.import_text("unit,position\nB,1L\n", "--replace")
        self.assertEqual({r["unit"] for r in self.rows()}, {"B"})

    def test_round_trip_of_hostile_names(self):
        for number, name in enumerate(HOSTILE):
            self.roster("add", "--layout", "single", "--note", HOSTILE[number - 1], "--target", "101 psi", "--", name)
            self.roster("set", "--sensor", f"0x{number:08x}", "--load-note", HOSTILE[number - 2], "--", name, "1R")
        for unit in ("kPa", "bar", "psi"):
            table = self.folder / "fleet.csv"
            self.roster("export", "--units", unit, table)
            first = table.read_bytes()
            for row in csv.reader(io.StringIO(first.decode("utf-8-sig"), newline="")):  # another program's reader
                for cell in row:
                    self.assertFalse(cell and cell[0] in "=+-@", cell)
            self.assertTrue(first.startswith(b"\xef\xbb\xbf"))
            self.roster("import", "--replace", table)
            self.assertEqual(self.export("--units", unit), first)
            self.assertEqual({r["unit"] for r in self.records("list")}, set(HOSTILE))

    def test_as_a_spreadsheet_saves_it(self):
        self.roster("add", "K 17", "--layout", "tractor-three-axle", "--target", "724 kPa")
        self.roster("set", "K 17", "2LI", "--sensor", "0x00000042", "--load-note", "load range G, new")
        rows = list(csv.reader(io.StringIO(self.export().decode(), newline="")))
        out = io.StringIO(newline="")
        csv.writer(out, delimiter=";", lineterminator="\r\n").writerows(rows + [[""] * len(rows[0])])
        before = self.export()
        self.import_text("\ufeff" + out.getvalue(), "--replace")
        self.assertEqual(self.export(), before)

    def test_export_keeps_the_file_whole(self):
        table = self.folder / "fleet.csv"
        table.write_text("old")
        table.chmod(0o640)
        self.roster("add", "A", "--layout", "single")
        self.roster("export", table)
        self.assertEqual(table.read_bytes(), self.export())
        self.assertEqual(stat.S_IMODE(table.stat().st_mode), 0o640)
        self.assertEqual([p.name for p in self.folder.glob("fleet*")], ["fleet.csv"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
