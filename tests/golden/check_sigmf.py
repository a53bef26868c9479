#!/usr/bin/python3
"""The SigMF descriptions in a folder against the rules of the SigMF specification (sigmf-schema.json, v1.2).

Required: global (core:datatype, core:version), captures[] (core:sample_start), annotations[] (core:sample_start).
Recordings named good-* and unsupported-* must keep every rule; bad-metadata-* must break at least one, or they would
prove nothing.
"""
import hashlib
import json
import pathlib
import re
import sys
import tarfile

import jsonschema

INDEX = {"type": "integer", "minimum": 0}
TIME = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$"}
SCHEMA = {
    "type": "object",
    "required": ["global", "captures", "annotations"],
    "properties": {
        "global": {
            "type": "object",
            "required": ["core:datatype", "core:version"],
            "properties": {
                # The prose is stricter than the published pattern: 8-bit types carry no byte order, others must.
                "core:datatype": {"type": "string", "pattern": r"^[cr]((f32|f64|i32|i16|u32|u16)_(le|be)|i8|u8)$"},
                "core:version": {"type": "string", "pattern": r"^\d+\.\d+\.\d+$"},
                "core:sample_rate": {"type": "number", "exclusiveMinimum": 0, "maximum": 1e12},
                "core:num_channels": {"type": "integer", "minimum": 1},
                "core:offset": INDEX,
                "core:trailing_bytes": INDEX,
                "core:sha512": {"type": "string", "pattern": "^[0-9a-fA-F]{128}$"},
                "core:dataset": {"type": "string"},
                "core:author": {"type": "string"},
                "core:description": {"type": "string"},
                "core:hw": {"type": "string"},
                "core:license": {"type": "string", "format": "uri"},
                "core:extensions": {"type": "array", "items": {
                    "type": "object", "required": ["name", "version", "optional"]}},
            },
        },
        "captures": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["core:sample_start"],
                "properties": {
                    "core:sample_start": INDEX,
                    "core:global_index": INDEX,
                    "core:header_bytes": INDEX,
                    "core:frequency": {"type": "number", "minimum": -1e12, "maximum": 1e12},
                    "core:datetime": TIME,
                },
            },
        },
        "annotations": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["core:sample_start"],
                "properties": {
                    "core:sample_start": INDEX,
                    "core:sample_count": INDEX,
                    "core:freq_lower_edge": {"type": "number"},
                    "core:freq_upper_edge": {"type": "number"},
                    "core:label": {"type": "string", "maxLength": 20},
                    "core:comment": {"type": "string"},
                    "core:generator": {"type": "string"},
                },
                "dependentRequired": {
                    "core:freq_lower_edge": ["core:freq_upper_edge"],
                    "core:freq_upper_edge": ["core:freq_lower_edge"],
                },
            },
        },
    },
}
BYTES = {"8": 1, "16": 2, "32": 4, "64": 8}


def no_twice(pairs):
    keys = [key for key, _ in pairs]
    if len(set(keys)) != len(keys):
        raise ValueError("a key stands twice")
    return dict(pairs)


def violations(text, data):
    """What is wrong with a description (bytes) of some samples (bytes)."""
    try:
        meta = json.loads(text.decode("utf-8"), object_pairs_hook=no_twice)
    except (ValueError, RecursionError) as problem:
        return [f"no JSON: {problem}"]
    found = [f"{'/'.join(map(str, e.absolute_path))}: {e.message}"
             for e in jsonschema.Draft202012Validator(SCHEMA).iter_errors(meta)]
    return found or list(inconsistencies(meta, data))


def inconsistencies(meta, data):
    """What a schema cannot say: hash, whole samples, order and range of captures and annotations."""
    head = meta["global"]
    kind, width = re.match(r"([cr])\D(\d+)", head["core:datatype"]).groups()
    sample = BYTES[width] * (2 if kind == "c" else 1) * head.get("core:num_channels", 1)
    payload = len(data) - head.get("core:trailing_bytes", 0) - sum(c.get("core:header_bytes",
                                                                         0) for c in meta["captures"])
    if "core:sha512" in head and head["core:sha512"].lower() != hashlib.sha512(data).hexdigest():
        yield "core:sha512 is not the hash of the samples"
    if payload <= 0 or payload % sample:
        yield f"{payload} bytes are no whole samples of {sample} bytes"
    first, samples = head.get("core:offset", 0), payload // sample
    for name in ("captures", "annotations"):
        starts = [entry["core:sample_start"] for entry in meta[name]]
        if starts != sorted(starts):
            yield f"{name} are not in order"
        if any(not first <= start < first + samples for start in starts):
            yield f"{name} outside the {samples} samples"
    for entry in meta["annotations"]:
        if entry["core:sample_start"] + entry.get("core:sample_count", 0) > first + samples:
            yield "an annotation ends after the samples"


def descriptions(folder):
    for path in sorted(folder.glob("*.sigmf-meta")):
        samples = path.with_suffix(".sigmf-data")
        if not samples.is_file():
            named = re.search(rb'"core:dataset"\s*:\s*"([^"/]+)"', path.read_bytes())
            samples = folder / named.group(1).decode() if named else samples
        yield path.name, path.read_bytes(), samples.read_bytes() if samples.is_file() else b""
    for path in sorted(folder.glob("*.sigmf")):
        try:
            with tarfile.open(path) as tar:
                parts = {pathlib.Path(e.name).suffix: tar.extractfile(e).read() for e in tar if e.isfile()}
        except tarfile.ReadError:
            parts = {}
        yield path.name, parts.get(".sigmf-meta", b""), parts.get(".sigmf-data", b"")


def main():
    folder = pathlib.Path(sys.argv[1])
    checked = failed = 0
    for name, text, data in descriptions(folder):
        found = violations(text, data)
        if name.startswith(("good-", "unsupported-")) and "-despite-" not in name:
            checked += 1
            problems = found
        elif name.startswith(("bad-metadata-", "bad-hash")) or "-despite-" in name:
            checked += 1
            problems = [] if found else ["keeps every rule, so it proves nothing"]
        else:
            continue
        failed += bool(problems)
        for problem in problems:
            print(f"{name}: {problem}")
    if not checked:
        print(f"no descriptions in {folder}")
        return 1
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
