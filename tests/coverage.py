#!/usr/bin/env python3
"""Runs test programs of a build that counts, and prints what share of the lines and branches of each folder ran.

Usage: coverage.py BUILD PROGRAM...     what did not run is listed in BUILD/uncovered.txt

A branch is a way out of a decision that is written in the source; the ways of exceptions are left out (gcovr's
--exclude-throw-branches), since every call would count as one.
"""
import collections
import json
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[1]


def main():
    build = pathlib.Path(sys.argv[1]).resolve()
    for old in build.rglob("*.gcda"):
        old.unlink()
    failed = [p for p in sys.argv[2:] if subprocess.run([build / "tests" / p], cwd=build, stdout=subprocess.DEVNULL).returncode]
    report = subprocess.run(
        ["gcovr", "--root", ROOT, "--object-directory", build, "--filter", "src/", "--exclude-throw-branches",
         "--exclude-unreachable-branches", "--json", "-", build],
        capture_output=True, text=True, check=True, cwd=ROOT).stdout
    lines, branches, missed = collections.defaultdict(list), collections.defaultdict(list), []
    for file in json.loads(report)["files"]:
        folder = (ROOT / file["file"]).resolve().relative_to(ROOT).parts[1]  # headers come by staged links
        here = [line for line in file["lines"] if not line.get("gcovr/noncode")]
        lines[folder] += [line["count"] > 0 for line in here]
        branches[folder] += [branch["count"] > 0 for line in here for branch in line["branches"] if not branch["throw"]]
        missed += [f"{file['file']}:{line['line_number']}" for line in here if line["count"] == 0]
    (build / "uncovered.txt").write_text("\n".join(missed) + "\n")
    lines["all of them"] = sum(lines.values(), [])
    branches["all of them"] = sum(branches.values(), [])
    for folder, ran in lines.items():
        ways = branches[folder]
        print(f"{folder:12} lines {sum(ran):6} of {len(ran):6} {100 * sum(ran) / len(ran):5.1f} %   "
              f"branches {sum(ways):6} of {len(ways):6} {100 * sum(ways) / max(1, len(ways)):5.1f} %")
    print("failed: " + " ".join(failed) if failed else f"{len(missed)} lines did not run: {build / 'uncovered.txt'}")
    return bool(failed)


sys.exit(main())
