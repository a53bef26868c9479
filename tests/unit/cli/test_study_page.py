"""The page of a study in a browser: Chromium loads it, and what it makes of it is looked at.

test_study_page.py PROGRAM SOURCE_TREE
"""
import html.parser
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

PROGRAM = sys.argv[1]
BROWSER = shutil.which("chromium")


class Page(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.labels, self.images, self.links, self.text = {}, [], [], [], ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        self.tags[tag] = self.tags.get(tag, 0) + 1
        if tag == "svg" and "aria-label" in attributes:
            self.labels.append(attributes["aria-label"])
        if tag == "image":
            self.images.append(attributes.get("href", ""))
        self.links += [value for name, value in attributes.items()
                       if name in ("src", "href", "xlink:href") and not value.startswith("data:")]

    def handle_data(self, data):
        self.text += data


class StudyPage(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        inherited = {k: v for k, v in os.environ.items() if k in ("PATH", "LOCPATH") or k.endswith("SAN_OPTIONS")}
        self.place = dict(inherited, HOME=str(self.folder), XDG_DATA_HOME=str(self.folder),
                          XDG_CONFIG_HOME=str(self.folder))
        self.program("synth", "demo-fsk-manchester", "--set", "sensor=0A1B2C3D", "--set", "pressure=700 kPa", "--and",
                     "demo-fsk-manchester", "--set", "sensor=0FF1CE02", "--set", "pressure=640 kPa", "--and",
                     "demo-ook-manchester", "--set", "sensor=9C0FFEE", "--snr", "20", "--sample-rate", "250k", "--out",
                     self.folder / "<b>&yard")
        self.recording = self.folder / "<b>&yard.sigmf-meta"
        self.page = self.folder / "page.html"

    def program(self, *arguments, status=0):
        run = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, check=False, env=self.place,
                             timeout=250, text=True)
        self.assertEqual(run.returncode, status, run.stderr)
        return run.stdout

    def look(self, page):
        self.assertEqual(page.tags.get("script", 0), 0)
        self.assertEqual(page.links, [])  # nothing is loaded from anywhere
        self.assertEqual(page.tags.get("b", 0), 0)  # the recording's name is shown, not obeyed
        self.assertIn("<b>&yard.sigmf-meta", page.labels)
        self.assertEqual(len(page.images), 1)
        self.assertTrue(page.images[0].startswith("data:image/bmp;base64,"))
        for label in ("Envelope", "Eye: two chips, laid over each other", "Tones in mid-chip", "Levels in mid-chip"):
            self.assertIn(label, page.labels)
        self.assertTrue(any(label.startswith("Instantaneous frequency") for label in page.labels))
        self.assertTrue(any(label.startswith("Frames with right checks") for label in page.labels))
        self.assertIn("Kind 2", page.text)
        self.assertIn("chip rate", page.text)
        self.assertGreaterEqual(page.tags["tr"], 12)  # 4 + 4 + 3 copies, and the head

    def test_text(self):
        told = self.program("study", self.recording, "--page", self.page)
        text = self.page.read_text()
        self.assertLess(len(text), 600000)
        self.assertNotIn("\ufffd", text)
        self.look(Page(text))
        for line in told.splitlines():  # the page holds what the command says, beside the pictures
            if line.startswith("  modulation"):
                self.assertIn(line, Page(text).text)
        self.program("study", self.recording, "--page", self.folder / "none" / "page.html", status=73)

    @unittest.skipUnless(BROWSER, "chromium is not installed")
    def test_browser(self):
        self.program("study", self.recording, "--page", self.page)
        run = subprocess.run([BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
                              "--disable-sync", "--no-first-run", "--user-data-dir=" + str(self.folder / "profile"),
                              "--dump-dom", self.page.as_uri()], capture_output=True, check=False, timeout=250,
                             env=self.place, text=True)
        self.assertEqual(run.returncode, 0, run.stderr)
        self.look(Page(run.stdout))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
