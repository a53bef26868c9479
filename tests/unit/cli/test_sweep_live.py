"""A walk with a receiver in the hand: keys, pulled plugs, kill -9, the board. The dongle is a server on this computer that
plays a simulated walk at the pace of life.

test_sweep_live.py PROGRAM SOURCE_TREE
"""
import json
import os
import pathlib
import pty
import select
import signal
import socket
import subprocess
import sys
import tempfile
import termios
import threading
import time
import unittest

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
ROOT = pathlib.Path(sys.argv[2]).resolve()
RATE = 250_000
LEFT, RIGHT = "4C7A1001", "4C7A1002"
SCENARIO = f"""\
sensor,unit,position,descriptor,pressure,temperature
{LEFT},Finch,1L,demo-fsk-manchester,724 kPa gauge,18 degC
{RIGHT},Finch,1R,demo-fsk-manchester,720 kPa gauge,18 degC
"""


class Air:
    """Sends what is on the air to whoever is connected, in real time: noise, and the recording from where it was stopped. The
    noise is that of the recording before anybody sends: the air must not change when the recording begins."""

    def __init__(self, samples):
        self.samples, self.at, self.playing = samples, 0, False
        self.noise = samples[:RATE]  # half a second
        self.plugged = True
        self.connections = 0
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        threading.Thread(target=self.serve, daemon=True).start()

    def serve(self):
        while True:
            try:
                peer, _ = self.socket.accept()
            except OSError:
                return
            if self.plugged:
                self.connections += 1
                try:
                    self.feed(peer)
                except OSError:
                    pass
            peer.close()

    def feed(self, peer):
        peer.sendall(b"RTL0" + (5).to_bytes(4, "big") + (29).to_bytes(4, "big"))
        begun, sent = time.monotonic(), 0
        while self.plugged:
            size = 2 * RATE // 50
            if self.playing:
                block = self.samples[self.at:self.at + size]
                self.at += len(block)
                self.playing = self.at < len(self.samples)
            else:
                place = sent % (len(self.noise) - size)
                block = self.noise[place - place % 2:place - place % 2 + size]
            peer.sendall(block)
            sent += len(block)
            time.sleep(max(0.0, begun + sent / 2 / RATE - time.monotonic()))

    def play_to(self, second):
        """Play on up to this second of the recording; returns when it is done."""
        while self.at < 2 * RATE * second and self.at < len(self.samples):
            self.playing = True
            time.sleep(0.005)
        self.playing = False


class SweepTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.environment = dict(os.environ, XDG_DATA_HOME=str(self.folder), TERM="dumb", LC_ALL="C.UTF-8")
        self.environment.pop("NO_COLOR", None)
        (self.folder / "scenario.csv").write_text(SCENARIO)
        self.run_program("roster", "add", "Finch", "--layout", "single", "--carrier", "433.92 MHz", "--target", "724 kPa")
        self.run_program("roster", "set", "Finch", "1L", "--sensor", LEFT)
        self.run_program("roster", "set", "Finch", "1R", "--sensor", RIGHT)
        self.run_program("synth", "--walk", "scenario.csv", "--out", "walk", "--centre", "433.92M",
                         "--descriptors", ROOT / "protocols")
        self.steps = [line.split(",") for line in (self.folder / "walk.steps.csv").read_text().splitlines()[1:]]
        self.air = Air((self.folder / "walk.sigmf-data").read_bytes())
        self.addCleanup(self.air.socket.close)

    def run_program(self, *arguments, status=0):
        done = subprocess.run([PROGRAM, *map(str, arguments)], cwd=self.folder, env=self.environment, text=True,
                              capture_output=True, check=False, timeout=60)
        self.assertEqual(done.returncode, status, done.stdout + done.stderr)
        return done.stdout

    def command(self, *arguments):
        return [PROGRAM, "sweep", "Finch", "--network", f"127.0.0.1:{self.air.port}", "--sample-rate", "250k",
                "--descriptors", str(ROOT / "protocols"), *arguments]

    def start(self, *arguments):
        process = subprocess.Popen(self.command(*arguments), cwd=self.folder, env=self.environment, stdin=subprocess.PIPE,
                                   stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        self.addCleanup(process.stdin.close)
        self.addCleanup(process.stdout.close)
        self.addCleanup(process.kill)
        process.seen = b""
        return process

    def wait_for(self, process, text, seconds=20):
        """Read on until the text was printed; what came before it is not looked at again."""
        end = time.monotonic() + seconds
        while text.encode() not in process.seen:
            ready, _, _ = select.select([process.stdout], [], [], max(0.0, end - time.monotonic()))
            piece = os.read(process.stdout.fileno(), 65536) if ready else b""
            if not piece:
                self.fail(f"'{text}' did not come; this came:\n{process.seen.decode()}")
            process.seen += piece
        process.seen = process.seen[process.seen.index(text.encode()) + len(text):]

    def press(self, process, keys):
        process.stdin.write(keys)
        process.stdin.flush()

    def events(self):
        records = [json.loads(line) for line in self.run_program("store", "export").splitlines()]
        return [record for record in records if record["record"] == "event"]

    def play_steps(self, process, first, last):
        """Play the recording and press what its steps say, from one step to before another."""
        for offset, action, *_ in self.steps[first:last]:
            self.air.play_to(float(offset))
            if action in ("stand", "woken"):
                self.press(process, b" " if action == "stand" else b"w")
        self.air.play_to(float(self.steps[last][0]))

    def test_walk_with_a_pulled_plug(self):
        process = self.start()
        self.wait_for(process, "listening on")
        self.play_steps(process, 0, 2)
        self.wait_for(process, f"heard {LEFT}")
        self.air.plugged = False
        self.wait_for(process, "not listening")
        self.wait_for(process, "Plug it in again")
        self.air.plugged = True
        self.wait_for(process, "listening on", 5)
        self.assertEqual(self.air.connections, 2)
        self.play_steps(process, 2, 4)
        self.wait_for(process, f"heard {RIGHT}")
        self.press(process, b" ")
        time.sleep(0.3)
        self.press(process, b"\r")
        self.wait_for(process, "the sweep is finished")
        self.assertEqual(process.wait(20), 0)
        kinds = [event["event"] for event in self.events()]
        self.assertEqual([kind for kind in kinds if kind != "heard"],
                         ["listen", "stand", "woken", "gap", "listen", "stand", "stand", "woken", "leave", "end", "gap"])
        heard = [event["sensor"] for event in self.events() if event["event"] == "heard"]
        self.assertEqual(sorted(set(heard)), [LEFT, RIGHT])
        times = [event["at"] for event in self.events() if event["event"] != "heard"]
        self.assertEqual(times, sorted(times))

    def test_killed_and_taken_up_again(self):
        process = self.start()
        self.wait_for(process, "listening on")
        self.play_steps(process, 0, 2)
        self.wait_for(process, f"heard {LEFT}  ")  # the record; the note of its first copy goes on with a comma
        process.send_signal(signal.SIGKILL)
        process.wait(20)
        before = self.events()
        self.assertIn(LEFT, [event.get("sensor") for event in before])
        again = self.start("--go-on")
        self.wait_for(again, "listening on")
        self.play_steps(again, 2, 4)
        self.wait_for(again, f"heard {RIGHT}")
        self.press(again, b"q")
        self.wait_for(again, "goes on where it stopped")
        self.assertEqual(again.wait(20), 0)
        after = self.events()
        self.assertEqual(after[:len(before)], before)  # nothing that was stored has changed
        first = after[len(before)]
        self.assertEqual((first["event"], first["at"]), ("gap", before[-1]["at"]))
        self.assertEqual([event["sweep"] for event in after], [1] * len(after))
        self.assertIn("1R", [event.get("position") for event in after])

    def test_interrupted(self):
        process = self.start()
        self.wait_for(process, "listening on")
        process.send_signal(signal.SIGINT)
        self.wait_for(process, "goes on where it stopped")
        self.assertEqual(process.wait(20), 130)
        self.assertEqual(self.events()[-1]["note"], "interrupted")

    def test_nothing_to_listen_to(self):
        with socket.create_server(("127.0.0.1", 0)) as unused:
            self.air.port = unused.getsockname()[1]
        process = self.start()
        self.assertEqual(process.wait(20), 69)
        self.assertEqual(self.events(), [])  # a sweep that heard nothing leaves nothing behind

    def test_unknown_kinds_are_kept_for_study(self):
        """With the sensors' descriptor left out, a sensor still sends: it is said, and what it sent is kept."""
        process = self.start("--only", "demo-ook-manchester")
        self.wait_for(process, "listening on")
        self.play_steps(process, 0, 2)
        self.wait_for(process, "heard a burst that no descriptor knows")
        self.press(process, b"q")
        self.wait_for(process, "kept for 'wheelhark study'")
        self.assertEqual(process.wait(20), 0)
        kept = sorted((self.folder / "wheelhark" / "bursts").glob("*.sigmf-meta"))
        self.assertGreater(len(kept), 0)
        unknown = [event for event in self.events() if event["event"] == "unknown-burst"]
        self.assertEqual({path.stem for path in kept}, {f"{event['sweep']}-{event['id']}" for event in unknown})
        decoded = self.run_program("decode", "--json", "--descriptors", ROOT / "protocols", *kept)
        readings = [json.loads(line) for line in decoded.splitlines()]
        self.assertEqual({record["sensor"] for record in readings if record["record"] == "reading"}, {LEFT})

    def on_terminal(self, keys, **environment):
        """Run in a terminal, press the keys one by one, each once `until` was seen; returns what was drawn."""
        main, terminal = pty.openpty()
        flags = termios.tcgetattr(terminal)[3]
        process = subprocess.Popen(self.command(), cwd=self.folder, env=dict(self.environment, **environment),
                                   stdin=terminal, stdout=terminal, stderr=terminal)
        self.addCleanup(process.kill)
        drawn = b""
        for until, key in keys:
            end = time.monotonic() + 15
            while until not in drawn.decode(errors="replace"):
                ready, _, _ = select.select([main], [], [], max(0.0, end - time.monotonic()))
                self.assertTrue(ready, f"'{until}' did not come:\n{drawn!r}")
                drawn += os.read(main, 65536)
            os.write(main, key)
        self.assertEqual(process.wait(20), 0)
        self.assertEqual(termios.tcgetattr(terminal)[3], flags)  # the terminal as it was
        while select.select([main], [], [], 0.1)[0]:
            drawn += os.read(main, 65536)
        os.close(main)
        os.close(terminal)
        return drawn.decode()

    def test_board(self):
        drawn = self.on_terminal([("wheels heard", b" "), ("1L   HERE", b"\x1b[C"), ("1R   HERE", b"\x7f"), ("1L   HERE", b"q")],
                                 TERM="xterm", COLUMNS="80")
        self.assertTrue(drawn.startswith("\x1b[?1049h"))
        self.assertIn("\x1b[?1049l", drawn)  # and gives the screen back
        self.assertIn("Finch", drawn)
        self.assertIn("433.92 MHz", drawn)
        self.assertIn("\x1b[1m", drawn)

    def test_board_without_colour(self):
        drawn = self.on_terminal([("wheels heard", b" "), ("HERE", b"q")], TERM="xterm", NO_COLOR="1", LC_ALL="C")
        self.assertNotIn("\x1b[1m", drawn)
        self.assertNotIn("m\x1b[K", drawn.replace("\x1b[K\r\n", ""))
        self.assertTrue(drawn.isascii())

    def test_dumb_terminal(self):
        drawn = self.on_terminal([("listening on", b" "), ("on record", b"q")], TERM="dumb")
        self.assertNotIn("\x1b", drawn)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
