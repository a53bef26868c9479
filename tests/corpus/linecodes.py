"""Bits to chips. A chip is one step of the transmitter's input: 1 is the higher tone, or carrier on.

The codes whose chips depend on the level before them take it as `level`, the chip sent last.
"""


def nrz(bits, level=0):
    return list(bits)


def manchester_high_low(bits, level=0):
    """A one falls in the middle of the bit (G. E. Thomas, 1949)."""
    return [chip for bit in bits for chip in ((1, 0) if bit else (0, 1))]


def manchester_low_high(bits, level=0):
    """A one rises in the middle of the bit (IEEE 802.3)."""
    return [chip for bit in bits for chip in ((0, 1) if bit else (1, 0))]


def _with_edges(bits, level, edge_at_start, edge_in_middle):
    chips = []
    for bit in bits:
        level ^= edge_at_start(bit)
        chips.append(level)
        level ^= edge_in_middle(bit)
        chips.append(level)
    return chips


def differential_no_edge(bits, level=0):
    """Always an edge in the middle; none at the start of a one, one at the start of a zero (IEEE 802.5)."""
    return _with_edges(bits, level, lambda bit: 1 - bit, lambda bit: 1)


def differential_edge(bits, level=0):
    return _with_edges(bits, level, lambda bit: bit, lambda bit: 1)


def biphase_mark(bits, level=0):
    """An edge at every start; a one has another in the middle (FM1)."""
    return _with_edges(bits, level, lambda bit: 1, lambda bit: bit)


def biphase_space(bits, level=0):
    """An edge at every start; a zero has another in the middle (FM0)."""
    return _with_edges(bits, level, lambda bit: 1, lambda bit: 1 - bit)


def pulse_width(one, zero):
    """A code whose bits are fixed chip patterns, e.g. pulse_width("110", "100")."""
    patterns = [[int(chip) for chip in text] for text in (zero, one)]
    return lambda bits, level=0: [chip for bit in bits for chip in patterns[bit]]


def self_check():
    a5 = [1, 0, 1, 0, 0, 1, 0, 1]
    text = lambda chips: "".join(map(str, chips))
    # Worked from the definitions above by hand: Manchester of 0xA5 in both senses; the biphase codes from level 0.
    assert text(manchester_high_low(a5)) == "1001100101100110"
    assert text(manchester_low_high(a5)) == "0110011010011001"
    assert text(biphase_mark([1, 0, 1, 1])) == "10110101"
    assert text(biphase_space([1, 0, 1, 1])) == "11010011"
    # NXP user manual UM11227 rev. 6, 10.16, figure sequence 001101: Manchester, bi-phase (middle edge in a zero).
    assert text(manchester_high_low([0, 0, 1, 1, 0, 1])) == "010110100110"
    assert text(biphase_space([0, 0, 1, 1, 0, 1])) == "101011001011"
