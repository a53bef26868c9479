"""Damaged files and malformed descriptions.

As long as kind and rate of the samples are known, damage costs no reading: what is left is read and the damage is told
(good-despite-*). Otherwise nothing is read. Either way the exit status says damaged (65), or no input (66).
"""
import json
import struct

import numpy as np

import recording
from case import case, without
from layouts import yard_scene

DAMAGED, NO_INPUT = 65, 66


def noise(work, datatype="cu8"):
    return recording.quantise(work.scene(0.03).samples, datatype)


def metadata(name, proves, alter, exit_status=DAMAGED):
    """A readable frame under a description that is not right. `alter(meta)` changes it, or returns its bytes."""
    def make(work):
        scene, _ = yard_scene(work)
        work.pair(scene, exit_status=exit_status, alter=alter)
    case("bad-metadata-" + name, proves)(make)


def setting(part, key, value):
    def alter(meta):
        (meta[part][0] if part == "captures" else meta[part])[key] = value
    return alter


def in_text(old, new):
    return lambda meta: recording.text_of(meta).replace(old, new, 1)


metadata("empty", "a description of no bytes", lambda meta: b"")
metadata("cut", "a description that breaks off", lambda meta: recording.text_of(meta)[:250])
metadata("no-json", "a description that is prose", lambda meta: b"IQ of yard 4, 250 kS/s\n")
metadata("list", "a description that is a list", lambda meta: b"[]\n")
metadata("no-global", "the global object is missing", without("global"))
metadata("no-datatype", "core:datatype is missing", without("global", "core:datatype"))
metadata("datatype-unknown", "core:datatype is none of the specification's", setting("global", "core:datatype", "cx9"))
metadata("datatype-number", "core:datatype is a number", setting("global", "core:datatype", 8))
metadata("rate-zero", "a sample rate of 0", setting("global", "core:sample_rate", 0))
metadata("rate-negative", "a negative sample rate", setting("global", "core:sample_rate", -250e3))
metadata("rate-text", "a sample rate in words", setting("global", "core:sample_rate", "250 kS/s"))
metadata("rate-beyond", "a sample rate beyond any double", in_text(b'"core:sample_rate": 250000.0',
                                                                   b'"core:sample_rate": 1e999'))
metadata("key-twice", "the sample rate stands twice, with two values",
         in_text(b'"core:sample_rate"', b'"core:sample_rate": 1000000, "core:sample_rate"'))
metadata("no-utf8", "bytes that are no UTF-8", in_text(b'"core:author": "Wheelhark"', b'"core:author": "\xc3\x28\xff"'))
metadata("nested", "ten thousand lists in each other", in_text(b'"core:author": "Wheelhark"',
                                                               b'"core:author": ' + b"[" * 10000 + b"]" * 10000))
metadata("tail", "text after the description", lambda meta: recording.text_of(meta) + b"{}\n")


def despite(name, proves, alter):
    """Kind and rate of the samples are known, only when and where they were taken is not: the frame is read."""
    def make(work):
        scene, reading = yard_scene(work)
        work.pair(scene, [reading], DAMAGED, alter=alter)
    case("good-despite-" + name, proves + ": the frame is read, and the damage is told")(make)


despite("no-captures", "the captures are missing", without("captures"))
despite("captures-object", "captures is an object", lambda meta: meta.update(captures={"core:sample_start": 0}))
despite("start-negative", "a capture that starts before the samples", setting("captures", "core:sample_start", -1))
despite("start-beyond", "the only capture starts after the last sample",
        setting("captures", "core:sample_start", 10**9))
despite("start-fraction", "a capture that starts between two samples", setting("captures", "core:sample_start", 0.5))
despite("header-beyond", "more header bytes than the file has", setting("captures", "core:header_bytes", 10**15))
despite("trailing-beyond", "more trailing bytes than the file has", setting("global", "core:trailing_bytes", 2**62))


@case("bad-rate-unknown", "a correct description without a sample rate, and none given by the user")
def _(work):
    scene, _ = yard_scene(work)
    work.pair(scene, exit_status=DAMAGED, alter=without("global", "core:sample_rate"))


@case("bad-samples-missing", "a description whose samples are not there")
def _(work):
    scene, _ = yard_scene(work)
    meta = work.meta(scene, b"", "cu8", 433.92e6)
    work.file(".sigmf-meta", recording.text_of(meta), "description alone", exit_status=NO_INPUT)


@case("bad-samples-empty", "samples of no bytes")
def _(work):
    work.pair(work.scene(0), exit_status=DAMAGED)


@case("bad-hash-of-noise", "noise under a hash that is another's")
def _(work):
    work.pair(work.scene(0.03), exit_status=DAMAGED, sha512="5a" * 64)


@case("bad-odd-length", "a file of bytes that ends between I and Q")
def _(work):
    work.pair(work.scene(0.03), exit_status=DAMAGED, sha512=None, cut=lambda data: data[:-1])


@case("bad-odd-length-cf32", "a file of floats that ends inside a number")
def _(work):
    work.pair(work.scene(0.01), exit_status=DAMAGED, datatype="cf32_le", sha512=None, cut=lambda data: data[:-3])


@case("bad-bare-empty", "bare samples of no bytes")
def _(work):
    work.bare(work.scene(0), ".cu8", "cu8", exit_status=DAMAGED)


@case("bad-bare-odd-length", "bare samples that end between I and Q")
def _(work):
    work.bare(work.scene(0.02), ".cu8", "cu8", exit_status=DAMAGED, cut=lambda data: data[:-1])


@case("bad-not-a-number", "floating-point samples of which a third is no number or infinite")
def _(work):
    scene = work.scene(0.012)
    flat = np.frombuffer(recording.quantise(scene.samples, "cf32_le"), "<f4").copy()
    flat[::6], flat[1::9], flat[2::9] = np.nan, np.inf, -np.inf
    data = flat.tobytes()
    recording.write_pair(work.folder, work.name, data, work.meta(scene, data, "cf32_le", 433.92e6))
    work.file(".sigmf-data", data, "12 ms at 250 kS/s, cf32_le")


@case("bad-all-not-a-number", "floating-point samples without a single number")
def _(work):
    scene = work.scene(0.01)
    data = np.full(2 * scene.count, np.nan, "<f4").tobytes()
    recording.write_pair(work.folder, work.name, data, work.meta(scene, data, "cf32_le", 433.92e6))
    work.file(".sigmf-data", data, "10 ms at 250 kS/s, cf32_le")


@case("bad-huge-floats", "floating-point samples near the largest number there is")
def _(work):
    scene = work.scene(0.01).scale(1e38)
    work.pair(scene, datatype="cf32_le")


@case("bad-wav-cut-header", "a WAV file that breaks off in its header")
def _(work):
    work.file(".wav", recording.wav(noise(work, "ci16_le"), 250e3)[:30], "30 bytes", exit_status=DAMAGED)


@case("bad-wav-cut", "a WAV file with half of the samples that its header promises")
def _(work):
    data = recording.wav(noise(work, "ci16_le"), 250e3)
    work.file(".wav", data[:len(data) // 2], "half of 30 ms at 250 kS/s, 16 bit", exit_status=DAMAGED)


@case("bad-wav-no-data", "a WAV file without a data chunk")
def _(work):
    data = recording.wav(b"", 250e3)[:-8]
    data = data[:4] + struct.pack("<I", len(data) - 8) + data[8:]
    work.file(".wav", data, "header alone", exit_status=DAMAGED)


@case("bad-wav-not-riff", "something else under the name of a WAV file")
def _(work):
    work.file(".wav", b"OggS" + bytes(200), "204 bytes", exit_status=DAMAGED)


@case("bad-archive-cut", "a SigMF archive that breaks off inside the description")
def _(work):
    work.archive(work.scene(0.03), exit_status=DAMAGED, cut=lambda packed: packed[:700])


@case("bad-archive-without-description", "a SigMF archive with samples alone")
def _(work):
    scene = work.scene(0.02)
    data = recording.quantise(scene.samples, "cu8")
    packed = recording.archive(work.name, data, {})
    start = packed.index(b".sigmf-data\0") // 512 * 512
    work.file(".sigmf", packed[start:], "20 ms at 250 kS/s, cu8", exit_status=DAMAGED)


@case("bad-archive-no-tar", "something else under the name of a SigMF archive")
def _(work):
    work.file(".sigmf", json.dumps({"global": {}}).encode() * 60, "JSON", exit_status=DAMAGED)
