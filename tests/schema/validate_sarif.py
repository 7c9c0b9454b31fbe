#!/usr/bin/env python3
"""Runs what `check --format sarif` says through the JSON schema of SARIF 2.1.0 (tests/schema/sarif/SOURCE.md) with a
general validator (python3-jsonschema): of every demo, every broken variant, and every file that the reader refuses.

Usage: validate_sarif.py PROGRAM SOURCE_ROOT [EVERY]     EVERY n: of the demos and their variants only each n-th
"""
import copy
import json
import pathlib
import re
import subprocess
import sys

import jsonschema

formats = jsonschema.FormatChecker(formats=())


@formats.checks("uri-reference")
@formats.checks("uri")
def is_uri(text):
    """The characters of RFC 3986; the validator's own check needs a package that Debian does not bring along."""
    return re.fullmatch(r"(?:[A-Za-z0-9._~:/?#\[\]@!$&'()*+,;=-]|%[0-9A-Fa-f]{2})*", text) is not None


def wrong_variants(document):
    """The same document with one thing wrong each: a validator that takes them sees nothing."""
    for path, value in [(["version"], "2.0.0"), (["runs"], {}), (["runs", 0, "tool"], {}), (["severity"], "danger"),
                        (["runs", 0, "results", 0, "level"], "danger"), (["runs", 0, "columnKind"], "bytes"),
                        (["runs", 0, "results", 0, "message"], {}), (["runs", 0, "results", 0, "ruleIndex"], -2),
                        (["$schema"], "no uri"),
                        (["runs", 0, "results", 0, "locations", 0, "physicalLocation", "region", "startLine"], 0)]:
        variant = copy.deepcopy(document)
        place = variant
        for step in path[:-1]:
            place = place[step]
        place[path[-1]] = value
        yield path, variant


def main():
    program, root = sys.argv[1], pathlib.Path(sys.argv[2])
    every = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    schema = json.loads((root / "tests/schema/sarif/sarif-2.1.0-rtm.5.json").read_text())
    jsonschema.Draft4Validator.check_schema(schema)
    validator = jsonschema.Draft4Validator(schema, format_checker=formats)

    def sarif(*files):
        return json.loads(subprocess.run([program, "check", "--format", "sarif", *files], capture_output=True).stdout)

    wrong = 0
    demos = sorted((root / "netlists").rglob("*.yaml"))[::every]
    refused = sorted((root / "tests/read/bad").glob("*.yaml")) + sorted((root / "tests/schema/bad").glob("*.yaml"))
    documents = [(f.name, sarif(f)) for f in demos + refused]
    documents.append(("refused ones together, and one that is not there", sarif(*refused[:5], "not there.yaml")))
    results = 0
    for name, document in documents:
        results += sum(len(run["results"]) for run in document["runs"])
        for error in validator.iter_errors(document):
            wrong += 1
            print(f"{name}: {list(error.path)}: {error.message[:200]}")
    broken = next(d for _, d in documents if d["runs"][0]["results"])
    for path, variant in wrong_variants(broken):
        if validator.is_valid(variant):
            wrong += 1
            print(f"the validator takes a document whose {path} is wrong")
    print(f"{len(documents)} documents with {results} results: {wrong} wrong")
    return wrong != 0 or results == 0 or len(documents) < 35


sys.exit(main())
