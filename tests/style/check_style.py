#!/usr/bin/python3
"""House rules that a machine can check. Usage: check_style.py CHECK --root DIR [--compiler CC] [--libraries DIR]

Each check prints every offence as file:line: reason and exits 1 when there was one. The checks look at a folder
tree, not at version control, so that they also hold in an unpacked archive.
"""
import argparse
import json
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

SOURCE_FOLDERS = ("include", "src", "tests", "protocols", "iq_samples")
TOP_FILES = ("CMakeLists.txt", "CMakePresets.json", "README.md", "DEVELOPERS.md", "bootstrap", ".ci/run")
TEXT_SUFFIXES = {".c", ".h", ".py", ".sh", ".txt", ".cmake", ".md", ".yaml", ".json", ".jsonl", ""}
LINES_ADVISED, LINES_MOST = 500, 600
# Generated or tabular files may be longer.
LENGTH_EXEMPT = re.compile(r"(_table|_tables|\.schema)\.[a-z]+$|\.md$|\.jsonl$|\.yaml$")
# A program's voice and its way out belong to src/cli alone.
TALK = re.compile(r"\b(printf|vprintf|puts|putchar|perror|exit|_exit|_Exit|quick_exit|abort|getenv|secure_getenv|"
                  r"setlocale|getopt|getopt_long)\s*\(|\b(stdout|stderr|stdin|environ|optarg)\b")
# The one room below src/ that is not part of the library.
PROGRAM_ROOM = "cli"
MACHINE_PATH = re.compile(r"/(?:work|home|root|Users|mnt|shared)/\w")
# Objects that may change although they are not in a context: name -> why that is right.
STATE_ALLOWED = {
    "planner": "FFTW's planner is not thread-safe; every plan of the process is made under this one lock",
}


def text_files(root):
    files = [root / name for name in TOP_FILES if (root / name).is_file()]
    for folder in SOURCE_FOLDERS:
        for path in sorted((root / folder).rglob("*")):
            in_corpus_of_bytes = "corpus" in path.parts and "fuzz" in path.parts
            if path.is_file() and path.suffix in TEXT_SUFFIXES and "__pycache__" not in path.parts \
                    and not in_corpus_of_bytes:
                files.append(path)
    return files


def read_lines(path):
    return path.read_bytes().decode("utf-8").split("\n")  # bytes: carriage returns must stay visible


def without_comments_and_strings(text):
    """C source with comments and literals blanked, line ends kept."""
    pattern = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'', re.S)
    return pattern.sub(lambda match: re.sub(r"[^\n]", " ", match.group()), text)


def library_sources(root):
    for path in sorted((root / "src").rglob("*.[ch]")):
        if path.relative_to(root).parts[1] != PROGRAM_ROOM:
            yield path
    yield from sorted((root / "include").rglob("*.h"))


def check_talk(root, _options):
    for path in library_sources(root):
        code = without_comments_and_strings(path.read_text(encoding="utf-8"))
        for number, line in enumerate(code.split("\n"), 1):
            match = TALK.search(line)
            if match and not line.lstrip().startswith("#include"):
                word = match.group(1) or match.group(2)
                yield path, number, f"'{word}' in the library: printing and exiting belong to src/{PROGRAM_ROOM}"


def check_length(root, _options):
    for path in text_files(root):
        if LENGTH_EXEMPT.search(path.name):
            continue
        count = len(read_lines(path)) - 1
        if count > LINES_MOST:
            yield path, count, f"{count} lines; split it by idea ({LINES_MOST} at most, {LINES_ADVISED} advised)"
        elif count > LINES_ADVISED:
            print(f"{path.relative_to(root)}: note: {count} lines, {LINES_ADVISED} advised")


def check_blanks(root, _options):
    for path in text_files(root):
        lines = read_lines(path)
        for number, line in enumerate(lines, 1):
            if "\t" in line:
                yield path, number, "tab"
            if line != line.rstrip():
                yield path, number, "blank or carriage return at the end of the line"
        if lines[-1] != "":
            yield path, len(lines), "no line end at the end of the file"


def check_paths(root, _options):
    for path in text_files(root):
        for number, line in enumerate(read_lines(path), 1):
            match = MACHINE_PATH.search(line)
            if match:
                yield path, number, f"path of one machine: '{match.group()}...'"


def check_json(root, _options):
    """JSON files are JSON, and no key stands twice in one object: a reader would take the last and lose the first."""
    for path in text_files(root):
        if path.suffix != ".json":
            continue
        twice = []

        def pairs(items, twice=twice):
            names = [name for name, _ in items]
            twice.extend(sorted({name for name in names if names.count(name) > 1}))
            return dict(items)

        try:
            json.loads(path.read_text(encoding="utf-8"), object_pairs_hook=pairs)
        except ValueError as error:
            yield path, 1, f"not JSON: {error}"
        for name in twice:
            yield path, 1, f"the key '{name}' stands twice in one object"


def check_guards(root, _options):
    """Names of headers are unique over all rooms, because they are included by bare name."""
    seen = {}
    for path in sorted((root / "src").rglob("*.h")):
        if path.name in seen:
            yield path, 1, f"another header has this name: {seen[path.name].relative_to(root)}"
        seen[path.name] = path


def check_headers(root, options):
    """Every header compiles alone, and twice in a row; the public ones see nothing but each other."""
    rooms = sorted({path.parent for path in (root / "src").rglob("*.h")})
    public = sorted((root / "include").rglob("*.h"))
    flags = shlex.split(options.compiler) + ["-std=c11", "-Wall", "-Wextra", "-Werror", "-fsyntax-only",
                                             "-D_POSIX_C_SOURCE=200809L", "-I", str(root / "include")]
    room_flags = [item for room in rooms for item in ("-I", str(room))]
    with tempfile.TemporaryDirectory() as folder:
        probe = pathlib.Path(folder) / "probe.c"
        for path in public + sorted((root / "src").rglob("*.h")):
            probe.write_text(f'#include "{path}"\n#include "{path}"\nextern int probe;\n', encoding="utf-8")
            command = flags + ([] if path in public else room_flags) + [str(probe)]
            run = subprocess.run(command, capture_output=True, text=True, check=False)
            if run.returncode != 0:
                yield path, 1, "does not compile alone:\n" + run.stderr


def archives(options):
    found = sorted(pathlib.Path(options.libraries).rglob("libwh_*.a"))
    if not found:
        sys.exit(f"no libwh_*.a below {options.libraries}: build first")
    return [path for path in found if path.name != f"libwh_{PROGRAM_ROOM}.a"]


def output_of(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def check_prefix(_root, options):
    for path in archives(options):
        for line in output_of("nm", "--extern-only", "--defined-only", str(path)).splitlines():
            fields = line.split()
            if len(fields) == 3 and not fields[2].startswith("wh_"):
                yield path, 1, f"exports '{fields[2]}'; every exported name begins with wh_"


def check_state(_root, options):
    """No object of the library may change outside a context: nothing in .data, .bss or COMMON."""
    for path in archives(options):
        for line in output_of("objdump", "--syms", str(path)).splitlines():
            match = re.match(r"[0-9a-f]+ .......\s+(\.data|\.bss|\.tbss|\.tdata|\*COM\*)\s+([0-9a-f]+)\s+"
                             r"(?:\.hidden )?(\S+)$", line)
            if match and int(match.group(2), 16) > 0 and match.group(3) != match.group(1):
                name = match.group(3).split(".")[0]
                if name not in STATE_ALLOWED:
                    yield path, 1, f"'{name}' is state outside a context ({match.group(1)})"


CHECKS = {
    "talk": check_talk, "length": check_length, "blanks": check_blanks, "paths": check_paths, "guards": check_guards,
    "json": check_json,
    "headers": check_headers, "prefix": check_prefix, "state": check_state,
}


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("check", choices=sorted(CHECKS))
    parser.add_argument("--root", required=True, type=pathlib.Path)
    parser.add_argument("--compiler", default="cc")
    parser.add_argument("--libraries", help="build folder with the static libraries")
    options = parser.parse_args()
    root = options.root.resolve()
    offences = 0
    for path, line, reason in CHECKS[options.check](root, options):
        offences += 1
        shown = path.relative_to(root) if path.is_relative_to(root) else path
        print(f"{shown}:{line}: {reason}")
    return 1 if offences else 0


if __name__ == "__main__":
    sys.exit(main())
