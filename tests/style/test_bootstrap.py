#!/usr/bin/python3
"""bootstrap on make-believe machines: with and without packages, root, sudo. Every outside program is a stand-in that
writes down how it was called."""
import pathlib
import shutil
import subprocess
import tempfile
import unittest

ROOT = pathlib.Path(__file__).resolve().parents[2]
NEEDED = ("bash", "dirname", "cat", "env", "printf", "nproc", "true")


class Bootstrap(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.bin = pathlib.Path(folder.name) / "bin"
        self.log = pathlib.Path(folder.name) / "log"
        self.tree = pathlib.Path(folder.name) / "tree"
        for path in (self.bin, self.tree):
            path.mkdir()
        self.log.touch()
        shutil.copy(ROOT / "bootstrap", self.tree)
        for name in NEEDED:
            (self.bin / name).symlink_to(shutil.which(name))
        self.stand_in("cmake")
        self.stand_in("ctest")
        self.machine(user=0, missing=())

    def stand_in(self, name, body="exit 0"):
        path = self.bin / name
        path.write_text(f"#!{shutil.which('bash')}\necho \"{name} $*\" >> {self.log}\n{body}\n", encoding="utf-8")
        path.chmod(0o755)

    def machine(self, user, missing, sudo=None):
        """`sudo`: None when there is none, else its exit status."""
        self.stand_in("id", f"echo {user}")
        names = "|".join(missing) or "nothing"
        self.stand_in("dpkg-query", f'case ${{@: -1}} in {names}) exit 1;; *) echo "install ok installed";; esac')
        self.stand_in("apt-get")
        if sudo is not None:
            self.stand_in("sudo", f'[[ $1 != -n ]] || shift\n[[ {sudo} -eq 0 ]] || exit {sudo}\nexec "$@"')

    def run_it(self, *arguments):
        run = subprocess.run([str(self.bin / "bash"), "bootstrap", *arguments], cwd=self.tree,
                             env={"PATH": str(self.bin)},
                             stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        return run, [line for line in self.log.read_text().splitlines() if not line.startswith("dpkg-query")]

    def test_everything_there(self):
        run, calls = self.run_it("build")
        self.assertEqual(run.returncode, 0, run.stderr)
        self.assertFalse([call for call in calls if call.startswith("apt-get")], "nothing to install")
        self.assertTrue(any(call.startswith("cmake --preset release") for call in calls))

    def test_root_installs_only_what_is_missing(self):
        self.machine(user=0, missing=("libliquid-dev", "python3-scipy"))
        run, calls = self.run_it("build")
        self.assertEqual(run.returncode, 0, run.stderr)
        installs = [call for call in calls if call.startswith("apt-get") and " install " in call]
        self.assertEqual(len(installs), 1)
        self.assertTrue(installs[0].endswith("--no-install-recommends libliquid-dev"), installs[0])
        run, calls = self.run_it("test")
        self.assertTrue(any(call.endswith("libliquid-dev python3-scipy") for call in calls),
                        "the tests need Python too")

    def test_user_goes_through_sudo(self):
        self.machine(user=1000, missing=("nettle-dev",), sudo=0)
        run, calls = self.run_it("build")
        self.assertEqual(run.returncode, 0, run.stderr)
        wanted = "sudo -n env DEBIAN_FRONTEND=noninteractive apt-get install"
        self.assertTrue(any(call.startswith(wanted) for call in calls), calls)

    def test_neither_root_nor_sudo(self):
        for sudo in (None, 1):
            self.machine(user=1000, missing=("nettle-dev",), sudo=sudo)
            run, calls = self.run_it("build")
            self.assertEqual(run.returncode, 1)
            self.assertIn("apt-get install nettle-dev", run.stderr)
            self.assertFalse([call for call in calls if call.startswith("cmake")], "must stop before the build")

    def test_user_without_sudo_needs_none_when_all_is_there(self):
        self.machine(user=1000, missing=())
        run, _ = self.run_it("build")
        self.assertEqual(run.returncode, 0, run.stderr)

    def test_failures_are_passed_on(self):
        self.stand_in("cmake", "exit 3")
        self.assertNotEqual(self.run_it("build")[0].returncode, 0)
        self.stand_in("cmake")
        self.stand_in("ctest", "exit 8")
        self.assertEqual(self.run_it("test")[0].returncode, 8)

    def test_arguments(self):
        run, calls = self.run_it("test", "--preset", "asan", "--filter", "ring|dongle", "-DWH_WERROR=ON")
        self.assertEqual(run.returncode, 0, run.stderr)
        self.assertIn("cmake --preset asan -DWH_WERROR=ON", calls)
        wanted = [call for call in calls if "-on-failure" in call and call.endswith("--tests-regex ring|dongle")]
        self.assertEqual(len(wanted), 1, calls)
        for wrong in (("walk",), ("build", "--quick"), ("build", "--preset")):
            self.assertEqual(self.run_it(*wrong)[0].returncode, 1)
        self.assertEqual(self.run_it("help")[0].returncode, 0)


if __name__ == "__main__":
    unittest.main()
