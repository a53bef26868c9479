"""A minute of noise and keyed carriers at 3.2 MS/s, 32-bit floats, to standard output: six bursts a second."""
import array
import cmath
import random
import sys

RATE = 3.2e6
BLOCK = 1 << 19  # samples: a sixth of a second, and again and again
BLOCKS = 366

rng = random.Random(1)
block = array.array("f", (rng.gauss(0.0, 0.02) for _ in range(2 * BLOCK)))
turn, phasor = cmath.exp(2j * cmath.pi * 123e3 / RATE), 0.2
for i in range(100000, 164000):  # 20 ms, keyed in chips of 50 us
    phasor *= turn
    if rng.random() < 1.0 / 160:
        on = rng.random() < 0.5
    elif i == 100000:
        on = True
    if on:
        block[2 * i] += phasor.real
        block[2 * i + 1] += phasor.imag
data = block.tobytes()
for _ in range(BLOCKS):
    sys.stdout.buffer.write(data)
