"""The measured part of RESULTS.md from the tables that run_report.sh left. Usage: make_results.py TABLES PAGE COMMIT"""
import pathlib
import re
import shutil
import sys

BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"


def read(folder, name):
    return (folder / name).read_text()


def tenth(text, kind):
    """The levels at which a tenth is lost: any confidence, 0.5 and above, without repair."""
    part = text[text.index(f"### {kind},"):]
    row = re.search(r"\*\*10 % at\*\* \|(.*)", part).group(1)
    numbers = [cell.strip(" *") for cell in row.split("|")]
    return [float(n) if n else None for n in numbers[:3]]


def bench(text, stage):
    row = re.search(rf"^{stage} .*?([\d.]+) x real time +([\d.]+) x FFTW", text, re.M)
    return float(row.group(1)), float(row.group(2))


def goals(folder):
    single = tenth(read(folder, "frame-loss.md"), "fsk-40")
    keyed = tenth(read(folder, "frame-loss.md"), "ook")
    three = tenth(read(folder, "frame-loss-3-copies.md"), "fsk-40")
    eight = tenth(read(folder, "frame-loss-8-copies.md"), "fsk-40")
    times = read(folder, "bench.txt")
    sparse, yard = bench(times, "pipeline-sparse-0"), bench(times, "pipeline-yard-0")
    few, many = bench(times, "pipeline-few-0"), bench(times, "pipeline-many-0")
    error = float(re.search(r"\| all readings \|[^|]*\|[^|]*\| ([\d.]+)", read(folder, "confidence.md")).group(1))
    false = read(folder, "false-readings.txt")
    sure = sum(int(n) for n in re.findall(r"(\d+) at >= 0\.9,", false))
    hours = sum(float(h) for h in re.findall(r", ([\d.]+) hours", false))
    memory = read(folder, "memory.txt").strip()
    low = lambda name, goal, value, unit: (name, f"<= {goal:g} {unit}", value, value is not None and value <= goal, unit)
    high = lambda name, goal, value, unit: (name, f">= {goal:g} {unit}", value, value >= goal, unit)
    return [
        low("10 % loss, FSK Manchester, 80 bits, nothing repaired", 10.2, single[2], "dB"),
        low("the same with repair, confidence >= 0.5", 8.6, single[1], "dB"),
        low("OOK Manchester, nothing repaired", 10.2, keyed[2], "dB"),
        low("OOK with repair, confidence >= 0.5", 8.6, keyed[1], "dB"),
        low("three copies, confidence >= 0.5", 8.0, three[1], "dB"),
        low("eight copies 40 to 90 ms apart, confidence >= 0.5", 5.2, eight[1], "dB"),
        low("sparse traffic, times a bare FFTW pass", 3.0, sparse[1], "x"),
        high("sparse traffic, times real time", 200.0, sparse[0], "x"),
        high("dense traffic (yard), 20 descriptors, times real time", 50.0, yard[0], "x"),
        low("200 descriptors, times the cost of 10", 2.0, many[1] / few[1], "x"),
        low("memory, 32-bit floats at 3.2 MS/s", 64.0, int(memory) / 1024.0 if memory else None, "MiB"),
        low("expected calibration error, all readings", 0.03, error, ""),
        low(f"false readings at >= 0.9 in the {hours:.1f} hours of this run", 0, float(sure), ""),
    ]


def goal_table(folder):
    lines = ["| figure | to reach | measured | reached |", "|---|---|---|---|"]
    for name, goal, value, reached, unit in goals(folder):
        shown = "not reached at any level, or not measured" if value is None else f"{value:.3g} {unit}"
        lines.append(f"| {name} | {goal.strip()} | {shown.strip()} | {'yes' if reached else '**no**'} |")
    return "\n".join(lines)


def section(title, body):
    return f"## {title}\n\n{body.strip()}\n"


def main():
    folder, page, commit = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3]
    plots = page.parent / "plots"
    plots.mkdir(exist_ok=True)
    pictures = sorted(folder.glob("frame-loss-*.svg"))
    for picture in pictures:
        shutil.copy(picture, plots / picture.name)
    loss = "\n\n".join(read(folder, f"frame-loss{part}.md").strip() for part in ("", "-3-copies", "-8-copies"))
    shown = "\n".join(f"[{p.stem}](plots/{p.name})" for p in pictures)
    parts = [
        f"Measured at commit {commit} with `tests/modem/run_report.sh BUILD OUT tests/modem/RESULTS.md`.\n",
        section("Figures to reach", goal_table(folder)),
        section("What spoils reception", read(folder, "impairments.md")),
        section("Frame loss", "Plots:\n" + shown + "\n\n" + loss),
        section("Confidence", read(folder, "confidence.md")),
        section("Detection", read(folder, "detection.md")),
        section("False readings", "```\n" + read(folder, "false-readings.txt") + "```"),
        section("Throughput", "```\n" + read(folder, "bench.txt") + "```"),
    ]
    text = page.read_text()
    before, after = text[: text.index(BEGIN) + len(BEGIN)], text[text.index(END):]
    page.write_text(before + "\n" + "\n".join(parts) + after)


main()
