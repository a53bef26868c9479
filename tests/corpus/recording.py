"""Scenes to files: quantise, and write SigMF pairs, SigMF archives, WAV and bare samples, whole or damaged.

The descriptions follow the SigMF specification 1.2 (sigmf-schema.json): core keys only, one annotation a burst.
"""
import hashlib
import io
import json
import struct
import tarfile

import numpy as np

VERSION = "1.2.0"
START = "2026-03-02T07:15:00.000000Z"


def quantise(samples, datatype):
    """Interleaved I, Q in the bytes of a SigMF datatype; full scale is 1.0. What is too loud is clipped."""
    flat = np.empty(2 * len(samples))
    flat[0::2], flat[1::2] = samples.real, samples.imag
    if datatype == "cu8":  # zero lies between 127 and 128
        return np.clip(np.round(flat * 127.5 + 127.5), 0, 255).astype(np.uint8).tobytes()
    if datatype == "ci8":
        return np.clip(np.round(flat * 128), -128, 127).astype(np.int8).tobytes()
    if datatype == "ci16_le":
        return np.clip(np.round(flat * 32768), -32768, 32767).astype("<i2").tobytes()
    if datatype == "cf32_le":
        return flat.astype("<f4").tobytes()
    if datatype == "cf64_le":
        return flat.astype("<f8").tobytes()
    raise ValueError(datatype)


def annotation(burst, rate, centre, sample_offset=0):
    """Where a burst is, in samples and in hertz of the radio band."""
    middle = centre + burst.offset_hz
    return {
        "core:sample_start": max(0, int(round(burst.start_s * rate)) + sample_offset),
        "core:sample_count": max(1, int(round(burst.duration_s * rate))),
        "core:freq_lower_edge": middle - burst.half_width_hz,
        "core:freq_upper_edge": middle + burst.half_width_hz,
        "core:label": burst.label[:20],
        "core:generator": "make_corpus.py",
    }


def metadata(data, rate, centre, datatype="cu8", annotations=(), captures=None, description="", **more):
    whole = {
        "global": {
            "core:datatype": datatype,
            "core:sample_rate": rate,
            "core:version": VERSION,
            "core:author": "Wheelhark",
            "core:description": description,
            "core:hw": "none: synthesised",
            "core:license": "https://www.gnu.org/licenses/gpl-3.0.html",
            "core:sha512": hashlib.sha512(data).hexdigest(),
        },
        "captures": captures or [{"core:sample_start": 0, "core:frequency": centre, "core:datetime": START}],
        "annotations": sorted(annotations, key=lambda entry: entry["core:sample_start"]),
    }
    for key, value in more.items():
        name = "core:" + key
        if value is None:
            whole["global"].pop(name, None)
        else:
            whole["global"][name] = value
    return whole


def text_of(meta):
    return (json.dumps(meta, indent=2, ensure_ascii=False) + "\n").encode()


def write_pair(folder, name, data, meta):
    """`meta` is a mapping, or the bytes to be written as they are."""
    (folder / f"{name}.sigmf-data").write_bytes(data)
    (folder / f"{name}.sigmf-meta").write_bytes(meta if isinstance(meta, bytes) else text_of(meta))


def archive(name, data, meta):
    """A SigMF archive: a plain tar with the pair in a folder, the same bytes at every run."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w", format=tarfile.USTAR_FORMAT) as tar:
        for suffix, content in ((".sigmf-meta", text_of(meta)), (".sigmf-data", data)):
            entry = tarfile.TarInfo(f"{name}/{name}{suffix}")
            entry.size, entry.mode, entry.mtime = len(content), 0o644, 0
            tar.addfile(entry, io.BytesIO(content))
    return out.getvalue()


def wav(data, rate, bits=16, is_float=False, channels=2, junk=False):
    """RIFF/WAVE with I left and Q right. `junk`: an odd-sized chunk before the data, which must be skipped."""
    frame = channels * bits // 8
    form = struct.pack("<HHIIHH", 3 if is_float else 1, channels, int(rate), int(rate) * frame, frame, bits)
    chunks = b"fmt " + struct.pack("<I", len(form)) + form
    if junk:
        chunks += b"note" + struct.pack("<I", 5) + b"yard\0" + b"\0"
    chunks += b"data" + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks


def self_check():
    assert quantise(np.array([-1 + 1j, 0.0039]), "cu8") == bytes([0, 255, 128, 128])
    assert quantise(np.array([0.5 - 2j]), "ci16_le") == struct.pack("<hh", 16384, -32768)
    made = wav(b"\1\2\3\4", 250000)
    assert struct.unpack("<I", made[4:8])[0] == len(made) - 8
