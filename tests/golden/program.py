"""Running `wheelhark decode` so that nothing of this machine's set-up can reach it."""
import json
import os
import subprocess
import tempfile

# Recordings are a fraction of a second long; a run that takes this many seconds hangs, even with sanitizers.
PATIENCE_S = 120


class Run:
    def __init__(self, status, out, err):
        self.status, self.out, self.err = status, out, err

    def records(self, kind):
        """The JSON records of one kind; every line of stdout must be one."""
        found = []
        for number, line in enumerate(self.out.decode("utf-8").splitlines(), 1):
            try:
                record = json.loads(line)
            except json.JSONDecodeError as problem:
                raise AssertionError(f"stdout line {number} is no JSON: {problem}: {line[:120]!r}") from None
            if record["record"] == kind:
                found.append(record)
        return found


def decode(options, arguments, stdin=b"", locale="C"):
    """Run `wheelhark decode` with the source tree's descriptors alone."""
    with tempfile.TemporaryDirectory() as home:
        environment = {key: value for key, value in os.environ.items()
                       if key in ("PATH", "TMPDIR", "LOCPATH") or key.endswith("SAN_OPTIONS")}
        environment.update(HOME=home, XDG_DATA_HOME=home, LC_ALL=locale, TZ="Asia/Kolkata")
        command = [options.program, "decode", "--descriptors", str(options.descriptors), *map(str, arguments)]
        run = subprocess.run(command, input=stdin, capture_output=True, env=environment, timeout=PATIENCE_S,
                             check=False)
    if run.returncode < 0:
        said = run.stderr.decode(errors="replace")
        raise AssertionError(f"died of signal {-run.returncode}: {' '.join(command)}\n{said}")
    return Run(run.returncode, run.stdout, run.stderr)
