"""Frame checks, written from their definitions, one bit at a time and without tables.

All of them take and give lists of bits (0 or 1), first bit sent first.
"""


def bits_of(value, count):
    """`count` bits of a number, most significant first; negative numbers in two's complement."""
    return [(value >> (count - 1 - i)) & 1 for i in range(count)]


def number_of(bits):
    value = 0
    for bit in bits:
        value = value << 1 | bit
    return value


def mirrored(bits, width):
    """Each word of `width` bits turned round; what is left over at the end is turned round by itself."""
    return [bit for start in range(0, len(bits), width) for bit in reversed(bits[start:start + width])]


def crc(bits, width, polynomial, start=0, final_xor=0, reflect_in=False, reflect_out=False):
    """Remainder of the polynomial division, as in the parametrised catalogue of CRC algorithms (Rocksoft model)."""
    register = start
    for bit in mirrored(bits, 8) if reflect_in else bits:
        overflow = register >> (width - 1) ^ bit
        register = (register << 1) & ((1 << width) - 1)
        if overflow:
            register ^= polynomial
    if reflect_out:
        register = number_of(mirrored(bits_of(register, width), width))
    return bits_of(register ^ final_xor, width)


def words(bits, width):
    if len(bits) % width:
        raise ValueError(f"{len(bits)} bits are no whole words of {width}")
    return [number_of(bits[i:i + width]) for i in range(0, len(bits), width)]


def total(bits, width, word=8):
    return bits_of(sum(words(bits, word)) % (1 << width), width)


def negative_total(bits, width, word=8):
    """Added to the sum of the words it gives zero."""
    return bits_of(-sum(words(bits, word)) % (1 << width), width)


def exclusive_or(bits, width, word=8):
    value = 0
    for item in words(bits, word):
        value ^= item
    return bits_of(value, width)


def parity(bits, odd=False):
    return [(sum(bits) + odd) % 2]


def self_check():
    """Published values: catalogue of parametrised CRC algorithms (reveng.sourceforge.net), check of "123456789"."""
    text = [bit for byte in b"123456789" for bit in bits_of(byte, 8)]
    published = [
        (0x7, (4, 0x3, 0, 0, True, True)),            # CRC-4/G-704
        (0x19, (5, 0x05, 0x1F, 0x1F, True, True)),    # CRC-5/USB
        (0x75, (7, 0x09, 0, 0, False, False)),        # CRC-7/MMC
        (0xF4, (8, 0x07, 0, 0, False, False)),        # CRC-8/SMBUS
        (0xA1, (8, 0x31, 0, 0, True, True)),          # CRC-8/MAXIM-DOW
        (0x4B, (8, 0x1D, 0xFF, 0xFF, False, False)),  # CRC-8/SAE-J1850
        (0x29B1, (16, 0x1021, 0xFFFF, 0, False, False)),  # CRC-16/IBM-3740
        (0x4B37, (16, 0x8005, 0xFFFF, 0, True, True)),    # CRC-16/MODBUS
    ]
    for value, parameters in published:
        assert number_of(crc(text, *parameters)) == value, hex(value)
    # Microchip/Atmel UHF transceiver evaluation-kit guide, table "Data Protocol": 64 00 EB (23.5 degC) sums to 0x14F.
    assert number_of(negative_total(bits_of(0x6400EB, 24), 8)) == 0xB1
