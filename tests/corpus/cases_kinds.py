"""One recording for every shipped descriptor: every line code, modulation and check, at a comfortable strength."""
import layouts as L
from case import case

LOW_BAND = 315e6


@case("good-fsk-manchester", "FSK Manchester with CRC-8, three copies become one reading")
def _(work):
    scene = work.scene(0.14)
    work.pair(scene, [L.MANCHESTER.send(scene, L.YARD, 0.015, copies=3, gap_s=0.045)])


@case("good-fsk-manchester-low-first", "the other Manchester sense, swapped tones, low bit and low byte first, 315 MHz")
def _(work):
    scene = work.scene(0.13)
    values = {"sensor": 0x51D0A7E4, "pressure": 6895, "temperature": -20}
    work.pair(scene, [L.LOW_FIRST.send(scene, values, 0.015, copies=3, gap_s=0.033)], centre=LOW_BAND)


@case("good-fsk-differential", "differential Manchester, inverted temperature, two checks that are no whole bytes")
def _(work):
    scene = work.scene(0.105)
    values = {"sensor": 0x0BADA550, "pressure": 1530, "temperature": 31, "battery_low": 1}
    work.pair(scene, [L.DIFFERENTIAL.send(scene, values, 0.02, copies=2, gap_s=0.052)])


@case("good-fsk-biphase-mark", "biphase mark at 38.4 kchip/s, numbers low byte first, CRC-16, four copies 25 ms apart")
def _(work):
    scene = work.scene(0.13)
    values = {"sensor": 0x44AA1209, "pressure": 16200, "temperature": -775, "rolling": 1, "hot": 0}
    work.pair(scene, [L.MARK.send(scene, values, 0.02, copies=4, gap_s=0.025)])


@case("good-fsk-biphase-space-short", "biphase space: the shortest of the frames of varying length, found by its end")
def _(work):
    scene = work.scene(0.13)
    values = {"sensor": 0x5EED123, "pressure": 812, "temperature": 142}
    work.pair(scene, [L.SPACE.send(scene, values, 0.012, copies=2, gap_s=0.082)])


@case("good-fsk-biphase-space-long", "the longest of the frames of varying length")
def _(work):
    scene = work.scene(0.13)
    values = {"sensor": 0x0F1E2D3, "pressure": 1204, "temperature": 60, "further": b"\x11\x22\x00\xff"}
    work.pair(scene, [L.SPACE.send(scene, values, 0.012, copies=2, gap_s=0.082)])


@case("good-fsk-nrz", "no line code at 50 kchip/s, 40-bit ID, reflected CRC-16, five copies 16 ms apart")
def _(work):
    scene = work.scene(0.105)
    values = {"sensor": 0x1F2E3D4C5B, "pressure": 903, "temperature": -15, "rolling": 1}
    work.pair(scene, [L.NRZ.send(scene, values, 0.015, copies=5, gap_s=0.016)])


@case("good-fsk-partial",
      "a layout that is not known yet: the unchanging bits give a nickname, no pressure is invented")
def _(work):
    scene = work.scene(0.095)
    reading = L.PARTIAL.send(scene, {"steady": 0x5A17C3, "rest": 0x0102030405}, 0.015, copies=2, gap_s=0.045)
    work.pair(scene, [reading])


@case("good-fsk-remote", "the published remote sensor: illegal bits as delimiters, 8 kHz deviation, temperature alone")
def _(work):
    scene = work.scene(0.04)
    work.pair(scene, [L.REMOTE.send(scene, {"temperature": -123}, 0.014)])


@case("good-ook-manchester", "OOK Manchester behind a sync that breaks the code, ID in two places, three copies")
def _(work):
    scene = work.scene(0.14)
    values = {"sensor": 0x9C0FFEE, "pressure": 573, "temperature": -31, "rolling": 1, "under_target": 1}
    work.pair(scene, [L.OOK_MANCHESTER.send(scene, values, 0.014, copies=3, gap_s=0.027)])


@case("good-ook-nrz", "OOK without line code or check: only the agreement of three copies makes it trustworthy")
def _(work):
    scene = work.scene(0.16)
    values = {"sensor": 0x2BADE5, "pressure": 180, "temperature": 76}
    work.pair(scene, [L.OOK_NRZ.send(scene, values, 0.014, copies=3, gap_s=0.042)], centre=LOW_BAND)


@case("good-ook-pulse-duration", "OOK with bits of two lengths, gauge pressure in psi, temperature in degF")
def _(work):
    scene = work.scene(0.17)
    values = {"sensor": 0xD15C0123, "pressure": 105, "temperature": 131}
    work.pair(scene, [L.DURATION.send(scene, values, 0.01, copies=2, gap_s=0.031)])


@case("good-ook-pulse-width", "OOK pulse width in thirds of 1.5 ms, parity and sum, gauge pressure in bar")
def _(work):
    scene = work.scene(0.3)
    values = {"sensor": 0x7E1103, "pressure": 144, "temperature": 72, "woken": 1}
    work.pair(scene, [L.WIDTH.send(scene, values, 0.018, copies=2, gap_s=0.05)], centre=LOW_BAND)


@case("good-faults", "codes that mean fault or not available are never shown as a number")
def _(work):
    scene = work.scene(0.12)
    readings = [
        L.MANCHESTER.send(scene, {"sensor": 0x00000001, "pressure": 0xFF, "temperature": 0xFF}, 0.015),
        L.NRZ.send(scene, {"sensor": 0xFF, "pressure": 0x7FF, "temperature": -256}, 0.055),
        L.SPACE.send(scene, {"sensor": 0xABCDEF0, "pressure": 0, "temperature": 100}, 0.09),
    ]
    work.pair(scene, readings)
