"""What 'listen --record' keeps, heard from a server in this process: decodes alike, survives Ctrl-C and a full disk.

test_record_command.py PROGRAM SOURCE_TREE
"""
import hashlib
import json
import os
import pathlib
import resource
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import unittest

PROGRAM = sys.argv[1]
ROOT = pathlib.Path(sys.argv[2])
sys.path.insert(0, str(ROOT / "tests" / "golden"))
import check_sigmf  # noqa: E402  (the published rules)

RATE, CENTRE = 250000, 433888750


def serve(data, hold=None):
    """A dongle's samples over TCP once; returns HOST:PORT. With `hold` noise follows until that event."""
    server = socket.create_server(("127.0.0.1", 0))

    def drain(peer):  # what the client asks for; unread it would make closing a reset
        try:
            while peer.recv(4096):
                pass
        except OSError:
            pass

    def run():
        with server, server.accept()[0] as peer:
            try:
                threading.Thread(target=drain, args=(peer,), daemon=True).start()
                peer.sendall(b"RTL0" + (5).to_bytes(4, "big") + (29).to_bytes(4, "big") + data)
                while hold and not hold.wait(0.1):
                    peer.sendall(data[-RATE // 5:])  # noise, in real time
                peer.shutdown(socket.SHUT_WR)
                time.sleep(20)  # the client ends first
            except OSError:
                pass

    threading.Thread(target=run, daemon=True).start()
    return "127.0.0.1:%d" % server.getsockname()[1]


class Record(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.keep = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.keep.name)
        subprocess.run([PROGRAM, "synth", "demo-fsk-manchester", "--set", "sensor=0A1B2C3D", "--at", "2 s",
                        "--and", "demo-ook-manchester", "--set", "sensor=9C0FFEE", "--at", "4 s",
                        "--and", "demo-fsk-manchester", "--set", "sensor=0A1B2C3D", "--at", "7 s", "--duration", "9 s",
                        "--sample-rate", str(RATE), "--out", str(cls.folder / "sent")], check=True, capture_output=True,
                       env=cls.place())
        cls.sent = (cls.folder / "sent.sigmf-data").read_bytes()

    @classmethod
    def tearDownClass(cls):
        cls.keep.cleanup()

    @classmethod
    def place(cls):
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        return dict(inherited, HOME=str(cls.folder), XDG_DATA_HOME=str(cls.folder), XDG_CONFIG_HOME=str(cls.folder))

    def listen(self, peer, name, *more, **start):
        return subprocess.Popen([PROGRAM, "listen", "--json", "--network", peer, "--sample-rate", str(RATE),
                                 "--frequency", str(CENTRE) + " Hz", "--record", str(self.folder / name), *more],
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=self.place(), **start)

    def decode(self, name):
        run = subprocess.run([PROGRAM, "decode", "--json", str(self.folder / name) + ".sigmf-meta"], capture_output=True,
                             env=self.place(), check=False)
        self.assertEqual(run.returncode, 0, run.stderr)  # a wrong hash would be 65
        return self.readings(run.stdout)

    @staticmethod
    def readings(text):
        records = [json.loads(line) for line in text.splitlines()]
        return [r for r in records if r["record"] == "reading"]

    def meta(self, name):
        text = (self.folder / (name + ".sigmf-meta")).read_text()
        data = (self.folder / (name + ".sigmf-data")).read_bytes()
        meta = json.loads(text)
        check_sigmf.jsonschema.validate(meta, check_sigmf.SCHEMA)
        self.assertEqual(meta["global"]["core:sha512"], hashlib.sha512(data).hexdigest())
        declared = {e["name"] for e in meta["global"]["core:extensions"]}
        spaces = {key.split(":")[0] for key in meta["global"]} - {"core"}
        self.assertEqual(spaces, declared)
        for annotation in meta["annotations"]:
            self.assertLessEqual(annotation["core:sample_start"] + annotation["core:sample_count"], len(data) // 2)
        return meta, data

    def same_readings(self, heard, kept):
        def what(r):
            return (r["sensor"], r["frame"], r["copies"], r["descriptor"])
        self.assertEqual(list(map(what, heard)), list(map(what, kept)))
        self.assertEqual(len(heard), 3)
        for a, b in zip(heard, kept):
            # the server's clock is nobody's: times count from the same start to the sample
            self.assertEqual(a["at"][:23], b["at"][:23])

    def test_bursts(self):
        run = self.listen(serve(self.sent), "bursts", "--gain", "20", "--ppm", "3", "--pre-trigger", "0.4 s")
        out, err = run.communicate(timeout=60)
        heard = self.readings(out)
        meta, data = self.meta("bursts")
        self.same_readings(heard, self.decode("bursts"))
        self.assertLess(len(data), len(self.sent) / 2)  # three bursts of 9 s
        self.assertEqual(len(meta["captures"]), 3)
        for capture, end in zip(meta["captures"], meta["captures"][1:] + [{"core:sample_start": len(data) // 2}]):
            at, index = capture["core:sample_start"], capture["core:global_index"]
            count = end["core:sample_start"] - at
            self.assertEqual(data[2 * at:2 * (at + count)], self.sent[2 * index:2 * (index + count)])
        truth = json.loads((self.folder / "sent.sigmf-meta").read_text())["annotations"]
        for burst, start in ((truth[0], meta["captures"][0]), (truth[-1], meta["captures"][-1])):
            before = burst["core:sample_start"] - start["core:global_index"]
            if burst is truth[0]:
                self.assertGreaterEqual(before, 0.4 * RATE)
                self.assertLess(before, 0.5 * RATE)
        self.assertGreaterEqual(len(meta["annotations"]), len(truth))  # and perhaps the spread of a strong one
        own = meta["global"]
        self.assertEqual((own["wheelhark:gain_db"], own["wheelhark:ppm"], own["wheelhark:samples_lost"]), (20, 3, 0))
        self.assertIn(b"recorded", err)
        self.assertNotIn("0A1B2C3D", json.dumps(meta))  # whose sensor it was is nobody's business

    def test_everything(self):
        run = self.listen(serve(self.sent), "everything", "--everything")
        heard = self.readings(run.communicate(timeout=60)[0])
        meta, data = self.meta("everything")
        self.assertEqual(data, self.sent)
        self.assertIsNone(meta["global"]["wheelhark:gain_db"])
        self.same_readings(heard, self.decode("everything"))

    def test_interrupted(self):
        hold = threading.Event()
        run = self.listen(serve(self.sent, hold), "interrupted")
        for _ in range(3):
            self.assertTrue(run.stdout.readline())
        run.send_signal(signal.SIGINT)
        _, err = run.communicate(timeout=60)
        hold.set()
        self.assertEqual(run.returncode, 0, err)
        self.meta("interrupted")
        self.assertEqual(len(self.decode("interrupted")), 3)

    def test_killed(self):
        hold = threading.Event()
        run = self.listen(serve(self.sent, hold), "killed", "--everything")
        for _ in range(3):
            self.assertTrue(run.stdout.readline())
        run.kill()
        run.communicate(timeout=60)
        hold.set()
        meta = json.loads((self.folder / "killed.sigmf-meta").read_text())
        check_sigmf.jsonschema.validate(meta, check_sigmf.SCHEMA)
        self.assertTrue(self.decode("killed"))

    def test_full(self):
        """A limit on the size of files stands for a full disk: writing fails in the same way."""
        def small():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (2500001, 2500001))
        run = self.listen(serve(self.sent), "full", "--everything", preexec_fn=small)
        out, err = run.communicate(timeout=60)
        self.assertEqual(run.returncode, 74, err)
        self.assertIn(b"full.sigmf-data", err)
        _, data = self.meta("full")
        self.assertGreater(len(data), 2300000)
        self.assertEqual(data, self.sent[:len(data)])
        self.assertTrue(self.readings(out))
        self.assertEqual(len(self.decode("full")), 2)

    def test_nothing_overwritten(self):
        (self.folder / "there.sigmf-meta").write_text("mine")
        run = self.listen("127.0.0.1:9", "there")
        _, err = run.communicate(timeout=60)
        self.assertEqual(run.returncode, 73, err)
        self.assertEqual((self.folder / "there.sigmf-meta").read_text(), "mine")
        self.assertFalse((self.folder / "there.sigmf-data").exists())

    def test_use(self):
        for wrong in (["--everything"], ["--record", "x", "--pre-trigger", "5 s"]):
            run = subprocess.run([PROGRAM, "listen", *wrong], capture_output=True, env=self.place(), check=False)
            self.assertEqual(run.returncode, 64)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
