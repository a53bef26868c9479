"""The program from outside: output, exit statuses, talk. The receiver is a stand-in that finds messages in samples.

test_program.py PROGRAM SOURCE_TREE
"""
import csv
import io
import json
import os
import pathlib
import pty
import signal
import socket
import subprocess
import sys
import tempfile
import unittest

import jsonschema

PROGRAM = sys.argv[1]
ROOT = pathlib.Path(sys.argv[2])
PLAIN, FAULT, NOT_AVAILABLE, PARTIAL, ODD_TEXT, WEAK, LOST_BURST, COLD = range(8)
EVERYTHING = [PLAIN, FAULT, NOT_AVAILABLE, PARTIAL, ODD_TEXT, WEAK, LOST_BURST, COLD]

DESCRIPTOR = """\
wheelhark descriptor: 1
name: demo-fsk-manchester
summary: For this test
provenance: {kind: invented}
partial: yes
radio: {carriers: [433.92 MHz], modulation: fsk, chip rate: 20 kchip/s, deviation: 40 kHz}
line: {code: manchester, one: high-low}
frame:
  preamble: {bits: "1", repeats: 16}
  sync: {bits: "0"}
  payload: 64 bits
steady: {from: 0, bits: 32}
"""


def samples(messages, spacing=1000):
    """cu8 silence with the messages in it, one every `spacing` samples."""
    data = bytearray(b"\x7f\x80" * (spacing * (len(messages) + 1)))
    for number, message in enumerate(messages, 1):
        data[2 * spacing * number:2 * spacing * number + 2] = bytes([200, message])
    return bytes(data)


class ProgramTest(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        (self.folder / "one.yaml").write_text(DESCRIPTOR)

    def file(self, name, content):
        path = self.folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    def run_program(self, *arguments, environment=None, **more):
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        full = dict(inherited, HOME=str(self.folder), XDG_DATA_HOME=str(self.folder), LC_ALL="C")
        full.update(environment or {})
        return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, timeout=60, check=False, env=full,
                              **more)

    def decode(self, *arguments, messages=EVERYTHING, **more):
        recording = self.file("yard.cu8", samples(messages))
        return self.run_program("decode", "--descriptors", self.folder / "one.yaml", "--sample-rate", "250k",
                                "--centre", "433.92M", *arguments, recording, **more)


class Talk(ProgramTest):
    def test_alone_and_help_are_friendly(self):
        alone = self.run_program()
        self.assertEqual((alone.returncode, alone.stderr), (0, b""))
        self.assertIn(b"wheelhark listen", alone.stdout)
        self.assertEqual(self.run_program("--help").stdout, alone.stdout)

    def test_version(self):
        version = self.run_program("--version")
        self.assertEqual(version.returncode, 0)
        self.assertRegex(version.stdout, rb"^wheelhark \d+\.\d+\.\d+\n")
        self.assertIn(b"cf32_le", version.stdout)

    def test_every_command_explains_itself(self):
        for name in ("decode", "listen"):
            told = self.run_program(name, "--help")
            self.assertEqual((told.returncode, told.stderr), (0, b""))
            self.assertTrue(told.stdout.startswith(b"Usage: wheelhark " + name.encode()))
            for line in told.stdout.decode().splitlines():
                self.assertLessEqual(len(line), 120, line)

    def test_mistyped_command(self):
        told = self.run_program("lisen")
        self.assertEqual((told.returncode, told.stdout), (64, b""))
        self.assertIn(b"did you mean 'listen'?", told.stderr)


class Records(ProgramTest):
    def test_json_bytes(self):
        run = self.decode("--json", messages=[PLAIN])
        self.assertEqual(run.returncode, 0)
        self.assertEqual(run.stdout.decode().splitlines()[0],
                         '{"record":"reading","offset_s":0.004000,"source":"yard.cu8",'
                         '"descriptor":"demo-fsk-manchester","sensor":"0A1B2C3D","gauge_kpa":724.0,'
                         '"absolute_kpa":825.3,"temp_c":18.5,"confidence":0.998,"carrier_hz":433918400,"snr_db":21.3,'
                         '"level_dbfs":-12.3,"copies":3,"frame":"0A1B2C3DE","frame_bits":36,'
                         '"flags":{"battery_low":false,"moving":true},'
                         '"values":{"battery":{"value":2.9,"unit":"V"},"location":{"value":3,"text":"rear left"}}}')

    def test_json_keeps_to_its_schema(self):
        schema = json.loads((ROOT / "src/report/schema/wheelhark-records.schema.json").read_text())
        jsonschema.Draft202012Validator.check_schema(schema)
        for kind in schema["$defs"].values():  # a key the schema does not name is a mistake here
            if "properties" in kind:
                kind["additionalProperties"] = False
        validator = jsonschema.Draft202012Validator(schema)
        missing = self.decode("--json", "--explain", self.folder / "missing.cu8")
        records = [json.loads(line) for line in missing.stdout.decode().splitlines()]
        self.assertEqual({record["record"] for record in records},
                         {"reading", "burst", "attempt", "summary", "error"})
        for record in records:
            validator.validate(record)
        with self.assertRaises(jsonschema.ValidationError):
            validator.validate(dict(records[-2], gauge_psi=105))

    def test_no_number_is_null_with_its_reason(self):
        lines = self.decode("--json", messages=[FAULT, NOT_AVAILABLE, PARTIAL]).stdout.decode().splitlines()
        fault, not_available, partial = map(json.loads, lines[:3])
        self.assertIsNone(fault["gauge_kpa"])
        self.assertNotIn("absolute_kpa", fault)
        self.assertEqual(fault["faults"], {"gauge_kpa": "sensor error", "temp_c": "implausible"})
        self.assertIsNone(not_available["values"]["battery"]["value"])
        self.assertEqual(set(not_available["faults"].values()), {"not available"})
        self.assertEqual(set(not_available["faults"]), {"gauge_kpa", "temp_c", "battery"})
        for key in ("gauge_kpa", "temp_c", "flags", "values", "faults"):
            self.assertNotIn(key, partial)
        self.assertEqual((partial["sensor"], partial["repaired_bits"]), ("~4F00A1", 1))

    def test_csv(self):
        run = self.decode("--csv", "--units", "psi", "--temperature", "F")
        self.assertEqual(run.returncode, 0)
        self.assertEqual(run.stdout.count(b"\r\n"), run.stdout.count(b"\n"))
        rows = list(csv.DictReader(io.StringIO(run.stdout.decode(), newline="")))
        self.assertEqual(len(rows), 6)
        # 724 kPa / 6.894757 kPa per psi (NIST SP 811) = 105.007; 18.5 C = 65.3 F
        self.assertEqual(rows[0]["gauge pressure (psi)"], "105.0")
        self.assertEqual(rows[0]["temperature (F)"], "65.3")
        self.assertEqual((rows[1]["gauge pressure (psi)"], rows[1]["pressure state"]), ("", "sensor error"))
        self.assertEqual(rows[0]["flags"], "moving")
        self.assertEqual(rows[4]["values"], 'location: =1+1, "a"\x1b[2J')
        self.assertEqual(self.decode("--csv", messages=[]).stdout.count(b"\r\n"), 1)

    def test_csv_guards_formulas(self):
        recording = self.file("=cmd.cu8", samples([PLAIN, COLD]))
        run = self.run_program("decode", "--descriptors", self.folder / "one.yaml", "--sample-rate", "250k", "--csv",
                               recording)
        rows = list(csv.DictReader(io.StringIO(run.stdout.decode(), newline="")))
        self.assertEqual(rows[0]["source"], "'=cmd.cu8")
        self.assertEqual((rows[1]["temperature (C)"], rows[1]["gauge pressure (kPa)"]), ("-40.0", "0.0"))

    def test_text(self):
        run = self.decode("--units", "bar", messages=[PLAIN, FAULT, NOT_AVAILABLE, PARTIAL, ODD_TEXT])
        lines = run.stdout.decode().splitlines()
        self.assertIn("bar gauge", lines[0])
        self.assertRegex(lines[1], r"^ +0\.004  0A1B2C3D +7\.24 +18\.5 +0\.998 +-12\.3 +3  demo-fsk-manchester .* "
                                   r"moving, battery 2\.9 V, location rear left$")
        self.assertRegex(lines[2], r"fault +implausible .*pressure: sensor error")
        self.assertEqual(lines[3].count("not available"), 3)
        self.assertRegex(lines[4], r"~4F00A1 +- +- .*ID unknown, named after its steady bits.*1 bit repaired")
        self.assertIn('location =1+1, "a"?[2J', lines[5])  # nothing in a name steers the terminal
        self.assertNotIn("\x1b", run.stdout.decode())
        place = lines[0].index("descriptor")
        for line in lines[1:]:
            self.assertEqual(line[place:place + 8], "demo-fsk", line)

    def test_text_of_several_inputs_names_them(self):
        other = self.file("dock.cu8", samples([PLAIN, LOST_BURST, COLD]))
        lines = self.decode("--bursts", other, messages=[PLAIN]).stdout.decode().splitlines()
        self.assertEqual([n for n, line in enumerate(lines) if line.endswith(".cu8:")], [0, 7])
        self.assertEqual((lines[0], lines[7]), ("dock.cu8:", "yard.cu8:"))
        self.assertNotIn("yard.cu8:", self.decode(messages=[PLAIN]).stdout.decode())

    def test_site_pressure_and_altitude(self):
        def gauge(*arguments):
            return json.loads(self.decode("--json", *arguments, messages=[PLAIN]).stdout.splitlines()[0])["gauge_kpa"]
        self.assertEqual(gauge("--site-pressure", "90 kPa"), 735.3)  # 825.325 - 90
        self.assertEqual(gauge("--site-pressure", "900 hPa"), 735.3)
        self.assertEqual(gauge("--site-pressure", "90"), 735.3)
        self.assertEqual(gauge("--site-pressure", "0.9 bar"), 735.3)
        # US Standard Atmosphere 1976: 89.874 kPa at 1000 m
        self.assertAlmostEqual(gauge("--altitude", "1000 m"), 825.325 - 89.874, delta=0.06)
        self.assertAlmostEqual(gauge("--altitude", "3280.84 ft"), 825.325 - 89.874, delta=0.06)

    def test_minimum(self):
        def readings(*arguments):
            lines = self.decode("--json", *arguments, messages=[PLAIN, WEAK]).stdout.splitlines()
            return [json.loads(line) for line in lines[:-1]], json.loads(lines[-1])
        self.assertEqual([len(readings("--minimum", m)[0]) for m in ("0", "0.5", "0.999")], [2, 1, 0])
        self.assertEqual(readings()[1]["readings_weak"], 1)

    def test_bursts_and_explain(self):
        def kinds(*arguments):
            lines = self.decode("--json", *arguments, messages=[LOST_BURST]).stdout.splitlines()
            return [json.loads(line)["record"] for line in lines]
        self.assertEqual(kinds(), ["summary"])
        self.assertEqual(kinds("--bursts"), ["burst", "summary"])
        self.assertEqual(kinds("--explain"), ["burst", "attempt", "summary"])
        text = self.decode("--explain", messages=[LOST_BURST]).stdout.decode()
        self.assertIn("no known preamble and sync in it", text)
        self.assertIn("0.41 of 0.60", text)
        self.assertEqual(self.decode("--explain", "--csv").returncode, 64)

    def test_same_bytes_in_any_block_locale_and_zone(self):
        for form in (["--json", "--bursts"], ["--csv"], ["--explain"]):
            base = self.decode(*form).stdout
            self.assertGreater(len(base), 100)
            for block in ("1", "7", "1000", "4096"):
                self.assertEqual(self.decode("--block", block, *form).stdout, base)
            for locale in ("C.UTF-8", "de_DE.UTF-8", "de_DE"):
                self.assertEqual(self.decode(*form, environment={"LC_ALL": locale, "TZ": "Asia/Tokyo"}).stdout, base)

    def test_output_file(self):
        path = self.folder / "out.jsonl"
        run = self.decode("--json", "--output", path)
        self.assertEqual((run.returncode, run.stdout), (0, b""))
        self.assertEqual(path.read_bytes(), self.decode("--json").stdout)

    def test_color(self):
        self.assertIn(b"\x1b[", self.decode("--color", "always").stdout)
        self.assertNotIn(b"\x1b[1", self.decode("--color", "never").stdout)
        self.assertNotIn(b"\x1b[1", self.decode().stdout)
        for environment, colored in (({"TERM": "xterm"}, True), ({"TERM": "dumb"}, False),
                                     ({"TERM": "xterm", "NO_COLOR": "1"}, False),
                                     ({"TERM": "xterm", "NO_COLOR": ""}, True)):
            self.assertEqual(b"\x1b[1" in self.on_terminal(environment), colored, environment)

    def on_terminal(self, environment):
        recording = self.file("yard.cu8", samples([FAULT]))
        ours, theirs = pty.openpty()
        full = {"PATH": os.environ["PATH"], "HOME": str(self.folder), **environment}
        subprocess.run([PROGRAM, "decode", "--descriptors", self.folder / "one.yaml", "--sample-rate", "250k",
                        recording], stdout=theirs, stderr=subprocess.DEVNULL, env=full, timeout=60, check=True)
        os.close(theirs)
        shown = b""
        try:
            while chunk := os.read(ours, 65536):
                shown += chunk
        except OSError:  # Linux: the other side is closed
            pass
        os.close(ours)
        return shown


class Summary(ProgramTest):
    def test_words(self):
        told = self.decode().stderr.decode()
        self.assertIn("8 bursts heard, 7 decoded, 6 readings, 1 more too uncertain to report", told)
        self.assertIn("1 not decoded: no known preamble and sync in it", told)
        self.assertIn("x real time", told)
        self.assertIn("air pressure of 101.3 kPa", told)
        self.assertIn("29 CFR 1910.177", told)

    def test_safety_words_only_with_pressures_in_text(self):
        self.assertNotIn(b"1910.177", self.decode("--json").stderr)
        self.assertNotIn(b"1910.177", self.decode(messages=[PARTIAL]).stderr)
        self.assertEqual(self.decode("--quiet").stderr, b"")

    def test_silence_is_not_absence(self):
        told = self.decode(messages=[]).stderr
        self.assertIn(b"Nothing was heard", told)
        self.assertIn(b"does not mean", told)

    def test_clipping_advice(self):
        recording = self.file("loud.cu8", b"\xff\x80" * 1000 + b"\x7f\x80" * 9000)
        told = self.run_program("decode", "--descriptors", self.folder / "one.yaml", "--sample-rate", "250k",
                                recording).stderr
        self.assertIn(b"10.000 % of the samples are clipped: the receiver was overdriven", told)


class Expectation(ProgramTest):
    def expect(self, text, messages, *arguments):
        return self.decode("--expect", self.file("expected.jsonl", text), *arguments, messages=messages)

    def test_met(self):
        for text in ('{"sensor":"0A1B2C3D"}\n', '{"gauge_kpa":724.05,"offset_s":0.023}\n', '\n{"temp_c":18.5}\r\n',
                     '{"gauge_kpa":720,"tolerance":{"gauge_kpa":4},"flags":{"moving":true}}'):
            run = self.expect(text, [PLAIN])
            self.assertEqual(run.returncode, 0, run.stderr)
        self.assertEqual(self.expect("", []).returncode, 0)

    def test_own_output_is_met(self):
        text = self.decode("--json", "--explain").stdout.decode()
        self.assertEqual(self.expect(text, EVERYTHING).returncode, 0)

    def test_not_met(self):
        for text, says in (('{"sensor":"0A1B2C3E","offset_s":0.004}', '"0A1B2C3E" expected, "0A1B2C3D" heard'),
                           ('{"sensor":"0A1B2C3D","gauge_kpa":724.2}', "gauge_kpa 724.2 expected, 724.0 heard"),
                           ('{"sensor":"0A1B2C3D","temp_c":null}', "temp_c null expected"),
                           ('{"sensor":"0A1B2C3D","flags":{"moving":false}}', "flags"),
                           ('{"sensor":"0A1B2C3D","gauge_kPa":724}', "gauge_kPa 724 expected, nothing heard"),
                           ('{"sensor":"0A1B2C3D"}\n' * 2, "line 2: not heard"),
                           ("", "heard but not expected")):
            run = self.expect(text, [PLAIN])
            self.assertEqual(run.returncode, 2, text)
            self.assertIn(says, run.stderr.decode())
        self.assertEqual(self.expect('{"sensor":"0A1B2C3D"}', []).returncode, 2)

    def test_malformed(self):
        for text in ("{", "[]", '{"record":"wheel"}', '{"a":1,"a":2}', '{"a":1,"tolerance":{"a":-1}}',
                     '{"a":"x","tolerance":{"a":1}}', '{"a":1,"tolerance":3}', "\x00"):
            run = self.expect("\n" + text, [PLAIN])
            self.assertEqual(run.returncode, 65, text)
            self.assertIn(b"line 2", run.stderr)
            self.assertEqual(run.stdout, b"")
        self.assertEqual(self.decode("--expect", self.folder / "none").returncode, 66)

    def test_nothing_steers_the_terminal(self):
        for text in ('{"a\x1b[2J":1}', '{"a\\u001b":1}', '{"sensor":"0A1B2C3D","\\u001b[2J":1}'):
            told = self.expect(text, [PLAIN]).stderr
            self.assertNotIn(b"\x1b", told)
        name = self.folder / "x\x1b[2J.cu8"
        self.assertNotIn(b"\x1b", self.decode(name).stderr)

    def test_long_differences_are_cut(self):
        run = self.expect('{"sensor":"00"}\n' * 50, [])
        self.assertEqual(run.stderr.count(b"not heard"), 20)
        self.assertIn(b"and 30 more", run.stderr)


class Listening(ProgramTest):
    """A live source over the network: a server that sends the usual 12 bytes first, then samples."""

    def setUp(self):
        super().setUp()
        self.server = socket.create_server(("127.0.0.1", 0))
        self.server.settimeout(30)
        self.addCleanup(self.server.close)

    def listen(self, *arguments):
        port = self.server.getsockname()[1]
        process = subprocess.Popen([PROGRAM, "listen", "--json", "--network", f"127.0.0.1:{port}", "--descriptors",
                                    self.folder / "one.yaml", *arguments], stdout=subprocess.PIPE,
                                   stderr=subprocess.PIPE)
        self.addCleanup(process.wait)
        self.addCleanup(process.kill)
        self.addCleanup(process.stdout.close)
        self.addCleanup(process.stderr.close)
        peer = self.server.accept()[0]
        self.addCleanup(peer.close)
        peer.sendall(b"RTL0" + (5).to_bytes(4, "big") + (29).to_bytes(4, "big"))
        return process, peer

    def test_lines_go_out_at_once_and_ctrl_c_ends(self):
        process, peer = self.listen()
        peer.sendall(samples([PLAIN], spacing=200000))
        first = process.stdout.readline()  # while the source goes on
        self.assertEqual(json.loads(first)["record"], "reading")
        process.send_signal(signal.SIGINT)
        rest, told = process.stdout.read(), process.stderr.read().decode()
        self.assertEqual(process.wait(timeout=60), 0, told)
        self.assertEqual(json.loads(rest.splitlines()[-1])["readings"], 1)
        self.assertRegex(told, r"(?m)^wheelhark: listening to 127\.0\.0\.1:\d+ on 433\.9200 MHz, .*; Ctrl-C ends$")
        self.assertNotIn("real time", told)

    def test_duration_counts_samples(self):
        process, peer = self.listen("--sample-rate", "250k", "--duration", "400 ms")
        try:
            peer.sendall(samples([PLAIN] * 3, spacing=50000) * 10)
        except OSError:
            pass  # the program had enough
        last = json.loads(process.stdout.read().splitlines()[-1])
        self.assertEqual((last["samples"], last["readings"]), (100000, 1))  # 0.4 s at 250 kS/s
        self.assertEqual(process.wait(timeout=60), 0)

    def test_interrupted_before_the_duration_is_over(self):
        process, peer = self.listen("--duration", "1 min")
        peer.sendall(samples([PLAIN], spacing=200000))
        process.stdout.readline()
        process.send_signal(signal.SIGTERM)
        process.stdout.read()
        self.assertEqual(process.wait(timeout=60), 130)

    def test_no_peer(self):
        port = self.server.getsockname()[1]
        self.server.close()
        run = self.run_program("listen", "--descriptors", self.folder / "one.yaml", "--network", f"127.0.0.1:{port}")
        self.assertEqual((run.returncode, run.stdout), (69, b""), run.stderr)


class ExitStatus(ProgramTest):
    def test_wrong_use(self):
        for arguments in (["--units", "atm"], ["--temperature", "K"], ["--json", "--csv"], ["--block", "0"],
                          ["--block", "1.5"], ["--minimum", "2"], ["--color", "red"], ["--sample-rate", "1"],
                          ["--format", "mp3"], ["--site-pressure", "20 kPa"], ["--altitude", "low"],
                          ["--threads", "-1"], ["--only", "nothing-like-it"]):
            run = self.decode(*arguments)
            self.assertEqual((run.returncode, run.stdout), (64, b""), arguments)
            self.assertTrue(run.stderr.startswith(b"wheelhark"))
        self.assertEqual(self.run_program("decode").returncode, 64)
        self.assertEqual(self.run_program("listen", "file.cu8").returncode, 64)
        self.assertEqual(self.run_program("listen", "--dongle", "1", "--network", "a:1").returncode, 64)

    def test_bad_inputs_do_not_stop_the_good_ones(self):
        odd = self.file("odd.cu8", samples([PLAIN]) + b"\x01")
        for bad, status in ((self.folder / "missing.cu8", 66), (odd, 65)):
            run = self.decode("--json", bad, messages=[PLAIN])
            self.assertEqual(run.returncode, status, run.stderr)
            self.assertIn(b'"record":"error"', run.stdout)
            self.assertIn(b'"source":"yard.cu8"', run.stdout)
        self.assertIn(b'"source":"odd.cu8","descriptor"', run.stdout)  # what was readable was decoded
        for order in ((odd, self.folder / "missing.cu8"), (self.folder / "missing.cu8", odd)):
            self.assertEqual(self.decode(*order).returncode, 66)  # the worst counts, not the last

    def test_descriptors(self):
        bad = self.file("bad.yaml", DESCRIPTOR.replace("manchester, one", "mancester, one"))
        recording = self.file("a.cu8", samples([]))
        run = self.run_program("decode", "--sample-rate", "250k", "--descriptors", bad, recording)
        self.assertEqual(run.returncode, 65)
        self.assertIn(b"bad.yaml:7:", run.stderr)
        run = self.run_program("decode", "--sample-rate", "250k", "--descriptors", self.folder / "none", recording)
        self.assertEqual(run.returncode, 66)
        # The user's own folder, where a bad file is told about and left out.
        own = self.folder / "wheelhark" / "descriptors"
        own.mkdir(parents=True)
        (own / "good.yaml").write_text(DESCRIPTOR.replace("demo-fsk-manchester", "mine"))
        (own / "worse.yaml").write_text("wheelhark descriptor: 1\n")
        run = self.run_program("decode", "--sample-rate", "250k", "--only", "mine", recording)
        self.assertEqual(run.returncode, 0, run.stderr)
        self.assertIn(b"worse.yaml", run.stderr)

    def test_output_that_fails(self):
        self.assertEqual(self.decode("--output", self.folder / "no" / "such").returncode, 73)
        if os.path.exists("/dev/full"):
            self.assertEqual(self.decode("--output", "/dev/full").returncode, 74)
            with open("/dev/full", "wb") as full:
                self.assertEqual(self.decode_into(full).returncode, 74)

    def decode_into(self, out):
        recording = self.file("yard.cu8", samples(EVERYTHING))
        return subprocess.run([PROGRAM, "decode", "--descriptors", self.folder / "one.yaml", "--sample-rate", "250k",
                               recording], stdout=out, stderr=subprocess.PIPE, timeout=60, check=False)

    def test_closed_pipe_ends_in_silence(self):
        recording = self.file("long.cu8", samples([PLAIN] * 2000, spacing=10))
        # python ignores SIGPIPE and its children inherit that: the program must cope with both
        for restore in (True, False):
            with subprocess.Popen([PROGRAM, "decode", "--json", "--descriptors", self.folder / "one.yaml",
                                   "--sample-rate", "250k", recording], stdout=subprocess.PIPE,
                                  stderr=subprocess.PIPE, restore_signals=restore) as process:
                process.stdout.read(10)
                process.stdout.close()
                told = process.stderr.read()
                self.assertEqual((process.wait(timeout=60), told), (-signal.SIGPIPE, b""))

    def test_help_that_nobody_reads_or_that_has_no_room(self):
        for arguments in (["--help"], ["--version"], ["decode", "--help"]):
            ours, theirs = os.pipe()
            os.close(ours)
            run = subprocess.run([PROGRAM, *arguments], stdout=theirs, stderr=subprocess.PIPE, timeout=60, check=False)
            os.close(theirs)
            self.assertEqual((run.returncode, run.stderr), (-signal.SIGPIPE, b""), arguments)
            if os.path.exists("/dev/full"):
                with open("/dev/full", "wb") as full:
                    run = subprocess.run([PROGRAM, *arguments], stdout=full, stderr=subprocess.PIPE, timeout=60,
                                         check=False)
                self.assertEqual(run.returncode, 74)
                self.assertIn(b"standard output failed", run.stderr)

    def test_no_dongle(self):
        run = self.run_program("listen", "--descriptors", self.folder / "one.yaml", "--dongle", "no such serial",
                               "--duration", "1 s")
        self.assertEqual((run.returncode, run.stdout), (69, b""), run.stderr)

    def test_interrupted(self):
        with subprocess.Popen([PROGRAM, "decode", "--json", "--descriptors", self.folder / "one.yaml",
                               "--sample-rate", "250k", "--format", "cu8", "-"], stdin=subprocess.PIPE,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
            process.stdin.write(samples([PLAIN] * 40, spacing=20000))
            process.stdin.flush()
            while b"reading" not in process.stdout.readline():
                pass
            process.send_signal(signal.SIGINT)
            rest = process.stdout.read()
            self.assertEqual(process.wait(timeout=60), 130)
            self.assertIn(b'"record":"summary"', rest)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
