#!/usr/bin/python3
"""Every style check must fail on a tree that breaks its rule and pass on one that does not."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve().parent
CLEAN_HEADER = "#ifndef WH_A_H\n#define WH_A_H\n#include <stddef.h>\nsize_t wh_a(void);\n#endif\n"
CLEAN_SOURCE = '#include "a.h"\n\nsize_t wh_a(void)\n{\n    return sizeof("exit(1)"); /* never printf() here */\n}\n'


class StyleChecks(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.root = pathlib.Path(self.folder.name)
        self.write("src/core/a.h", CLEAN_HEADER)
        self.write("src/core/a.c", CLEAN_SOURCE)

    def write(self, name, text):
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def library(self):
        build = self.root / "build"
        build.mkdir(exist_ok=True)
        subprocess.run(["cc", "-c", str(self.root / "src/core/a.c"), "-o", str(build / "a.o")], check=True)
        subprocess.run(["ar", "rc", str(build / "libwh_core.a"), str(build / "a.o")], check=True)
        return build

    def run_check(self, check, *more):
        command = [sys.executable, str(HERE / "check_style.py"), check, "--root", str(self.root), *more]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    def assert_passes(self, check, *more):
        run = self.run_check(check, *more)
        self.assertEqual(run.returncode, 0, run.stdout + run.stderr)

    def assert_finds(self, words, check, *more):
        run = self.run_check(check, *more)
        self.assertEqual(run.returncode, 1, run.stdout + run.stderr)
        self.assertIn(words, run.stdout)

    def test_clean_tree_passes(self):
        for check in ("talk", "length", "blanks", "paths", "guards", "json", "headers"):
            self.assert_passes(check)
        for check in ("prefix", "state"):
            self.assert_passes(check, "--libraries", str(self.library()))

    def test_talk(self):
        for line in ("printf(text);", "fputs(text, stderr);", "exit(1);", "p = getenv(name);"):
            self.write("src/core/a.c", CLEAN_SOURCE + f"void wh_b(void)\n{{\n    {line}\n}}\n")
            self.assert_finds("src/core/a.c:9", "talk")
        self.write("src/core/a.c", CLEAN_SOURCE)
        self.write("src/cli/main.c", "int main(void)\n{\n    exit(0);\n}\n")
        self.assert_passes("talk")

    def test_length(self):
        self.write("src/core/b.c", "\n" * 600)
        self.assert_passes("length")
        self.write("src/core/b.c", "\n" * 601)
        self.assert_finds("601 lines", "length")
        (self.root / "src/core/b.c").unlink()
        self.write("src/core/locations_table.c", "\n" * 900)
        self.assert_passes("length")

    def test_blanks(self):
        for text, words in (("int a;\t\n", "tab"), ("int a; \n", "blank"), ("int a;\r\n", "carriage"), ("int a;",
                                                                                                        "no line end")):
            path = self.root / "src/core/b.c"
            path.write_bytes(text.encode())
            self.assert_finds(words, "blanks")

    def test_paths(self):
        self.write("src/core/b.c", "/* see " + "/".join(("", "home", "someone", "notes")) + " */\n")
        self.assert_finds("src/core/b.c:1", "paths")

    def test_json(self):
        for text, words in (('{"a": 1, "b": {"a": 1, "a": 2}}\n', "key 'a'"), ("{a: 1}\n", "not JSON")):
            self.write("src/core/b.json", text)
            self.assert_finds(words, "json")

    def test_guards(self):
        self.write("src/line/a.h", CLEAN_HEADER)
        self.assert_finds("another header has this name", "guards")

    def test_headers(self):
        self.write("src/core/b.h", "size_t wh_b(void);\n")
        self.assert_finds("src/core/b.h", "headers")
        self.write("src/core/b.h", "enum wh_b { WH_B };\n")  # no guard: the second time it clashes
        self.assert_finds("src/core/b.h", "headers")
        (self.root / "src/core/b.h").unlink()
        self.write("include/wheelhark/b.h", '#include "a.h"\n')  # a public header may not see a room's own
        self.assert_finds("include/wheelhark/b.h", "headers")

    def test_prefix(self):
        self.write("src/core/a.c", "int stray(void)\n{\n    return 0;\n}\n")
        self.assert_finds("'stray'", "prefix", "--libraries", str(self.library()))

    def test_state(self):
        self.write("src/core/a.c", "static int calls;\nint wh_a(void)\n{\n    return ++calls;\n}\n")
        self.assert_finds("'calls'", "state", "--libraries", str(self.library()))
        self.write("src/core/a.c", "int wh_level = 3;\n")
        self.assert_finds("'wh_level'", "state", "--libraries", str(self.library()))
        self.write("src/core/a.c", "extern int wh_x;\nint *const wh_table[] = {&wh_x};\n")
        self.assert_passes("state", "--libraries", str(self.library()))


if __name__ == "__main__":
    unittest.main()
