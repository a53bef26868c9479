"""Every line of a file of records keeps to the published schema; there is at least one."""
import json
import pathlib
import sys

import jsonschema

schema = json.loads(pathlib.Path(sys.argv[1]).read_text())
jsonschema.Draft202012Validator.check_schema(schema)
for kind in schema["$defs"].values():  # a key the schema does not name is a mistake
    if "properties" in kind:
        kind["additionalProperties"] = False
validator = jsonschema.Draft202012Validator(schema)
lines = pathlib.Path(sys.argv[2]).read_text().splitlines()
for line in lines:
    validator.validate(json.loads(line))
sys.exit(0 if lines else "no records")
