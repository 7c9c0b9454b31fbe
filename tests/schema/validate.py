#!/usr/bin/env python3
"""Runs the program's JSON Schema through a general validator (python3-jsonschema, draft-07): every file that `check`
can read must be valid, and of the files that it refuses, those that are wrong in shape must be invalid.

Usage: validate.py PROGRAM SOURCE_ROOT
"""
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema
import yaml


STARTS = [
    [],
    ["--series", "24", "--chemistry", "nmc", "--lamps", "filament"],
    ["--capacitance", "1000 uF", "--bleed", "10 kohm", "--cell-resistance", "1 mohm", "--with", "horn,display"],
]


class Yaml12(yaml.SafeLoader):
    """YAML 1.2 as editors and loomproof read it: `off` is a word and `1:30` no number."""


Yaml12.yaml_implicit_resolvers = {
    first: [(tag, regexp) for tag, regexp in rules if not tag.endswith((":bool", ":timestamp", ":int", ":float"))]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
Yaml12.add_implicit_resolver("tag:yaml.org,2002:bool", __import__("re").compile(r"^(true|false)$"), list("tf"))
Yaml12.add_implicit_resolver("tag:yaml.org,2002:int", __import__("re").compile(r"^[-+]?[0-9]+$"), list("-+0123456789"))
Yaml12.add_implicit_resolver(
    "tag:yaml.org,2002:float",
    __import__("re").compile(r"^[-+]?([0-9]+\.[0-9]*|\.[0-9]+)$"),
    list("-+.0123456789"),
)


def main() -> int:
    program, root = sys.argv[1], pathlib.Path(sys.argv[2])
    schema = json.loads(subprocess.run([program, "schema"], capture_output=True, check=True).stdout)
    jsonschema.Draft7Validator.check_schema(schema)
    validator = jsonschema.Draft7Validator(schema)

    def errors(path):
        return list(validator.iter_errors(yaml.load(path.read_text(), Loader=Yaml12)))

    wrong = 0
    good = sorted(root.glob("netlists/**/*.yaml")) + sorted(root.glob("tests/rules/*/*.yaml"))
    good = [p for p in good + sorted(root.glob("tests/read/good/*.yaml")) if not p.name.endswith(".ask.yaml")]
    for path in good:
        for error in errors(path):
            wrong += 1
            print(f"{path.relative_to(root)}: valid for check, not for the schema: {list(error.path)}: {error.message[:200]}")

    # What `start --open` writes: `choose` in the place of every size.
    with tempfile.TemporaryDirectory() as folder:
        for number, options in enumerate(STARTS):
            path = pathlib.Path(folder) / f"start-{number}.yaml"
            subprocess.run([program, "start", "-o", path, "--open", *options], capture_output=True, check=True)
            opened = path.read_text().count("choose")
            for error in errors(path):
                wrong += 1
                print(f"start --open {' '.join(options)}: not valid: {list(error.path)}: {error.message[:200]}")
            if opened < 20:
                wrong += 1
                print(f"start --open {' '.join(options)}: only {opened} times choose, so it tries nothing")

    unseen = set((root / "tests/schema/unseen.txt").read_text().split())
    bad = sorted((root / "tests/schema/bad").glob("*.yaml"))
    for path in bad:
        refused = subprocess.run([program, "check", path], capture_output=True).returncode == 2
        invalid = bool(errors(path))
        if not refused:
            wrong += 1
            print(f"{path.name}: check can read it, so it is no case for here")
        if invalid == (path.name in unseen):
            wrong += 1
            print(f"{path.name}: the schema {'sees' if invalid else 'does not see'} it, unseen.txt says otherwise")
    print(f"{len(good)} files that check reads, {len(bad)} that it refuses ({len(unseen)} beyond a schema): {wrong} wrong")
    return wrong != 0 or len(good) < 50 or len(bad) < 10


sys.exit(main())
