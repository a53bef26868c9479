#!/usr/bin/python3
"""The fills of the board: readable in the sun, and apart for every kind of colour vision.

Contrast by WCAG 2.2 (relative luminance, success criterion 1.4.6: 7:1). Colour vision by the matrices of Machado, Oliveira and
Fernandes 2009 for complete protan, deutan and tritan deficiency, on linear RGB (values from memory). Distance: CIE 1976 delta E
in L*a*b* under D65.
"""
import itertools
import pathlib
import re
import sys

MATRICES = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
LEAST_CONTRAST = 7.0
LEAST_DISTANCE = 20.0  # delta E of 2 is just seen side by side; this is seen at a glance and in glare
TONES = ("quiet", "check", "fault", "paper")


def linear(text):
    text = text if len(text) == 7 else "#" + "".join(2 * digit for digit in text[1:])
    values = [int(text[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    return [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values]


def luminance(rgb):
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]


def contrast(one, other):
    high, low = sorted((luminance(linear(one)), luminance(linear(other))), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb):
    x = (0.4124 * rgb[0] + 0.3576 * rgb[1] + 0.1805 * rgb[2]) / 0.95047
    y = luminance(rgb)
    z = (0.0193 * rgb[0] + 0.1192 * rgb[1] + 0.9505 * rgb[2]) / 1.08883
    fx, fy, fz = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def seen(text, matrix):
    rgb = linear(text)
    return [min(max(sum(row[i] * rgb[i] for i in range(3)), 0), 1) for row in matrix]


def palettes(root):
    style = (root / "src/web/page/style.css").read_text(encoding="utf-8")
    for name, body in re.findall(r"(:root(?:\.night)?) \{(.*?)\}", style, re.S):
        yield name, dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6});", body))


def main():
    root = pathlib.Path(sys.argv[1])
    offences, count = [], 0
    for name, colours in palettes(root):
        count += 1
        pairs = [(colours["ink"], colours["paper"], "text")]
        pairs += [(colours[f"{tone}-ink"], colours[tone], tone) for tone in ("quiet", "check", "fault")]
        for ink, fill, what in pairs:
            if contrast(ink, fill) < LEAST_CONTRAST:
                offences.append(f"{name} {what}: contrast {contrast(ink, fill):.1f}")
        for vision, matrix in MATRICES.items():
            for one, other in itertools.combinations(TONES, 2):
                a, b = lab(seen(colours[one], matrix)), lab(seen(colours[other], matrix))
                distance = sum((p - q) ** 2 for p, q in zip(a, b)) ** 0.5
                if distance < LEAST_DISTANCE:
                    offences.append(f"{name} {one} and {other}, {vision}: only {distance:.0f} apart")
    # The formula itself: black on white is 21:1 by definition, and #767676 on white the known edge of 4.5:1.
    assert abs(contrast("#000", "#fff") - 21) < 1e-9 and abs(contrast("#767676", "#ffffff") - 4.54) < 0.01
    if count != 2:
        offences.append(f"{count} palettes found, not day and night")
    print("\n".join(offences) or "day and night: 7:1 and apart for all kinds of vision")
    return 1 if offences else 0


if __name__ == "__main__":
    sys.exit(main())
