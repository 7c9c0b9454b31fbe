#!/usr/bin/env python3
"""Mutates the program's own code, and tells which test program sees each mutant.

Usage: run.py --check                  every snippet of the lists stands once in its source, none in another, and every
                                       rule has one
       run.py COPY [-j N] [NUMBER...]  builds a mutated copy of the tree in COPY, runs the tests without and with each
                                       mutant (or those numbers), N at a time

All mutants are compiled in one build: a snippet becomes `(mutant(17) ? (mutated) : (original))`, and the environment
variable LOOMPROOF_MUTANT chooses at run time. The copy is a tree of its own: the ordinary sources and the ordinary
build are only read. Ends with 1 when a mutant survives or the copy fails without one.
"""
import os
import pathlib
import re
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import yaml

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
LISTS = ["mutants.yaml", "kernels.yaml"]  # the rules and what they share, the solver; numbered on from one to the next
PROGRAMS = ["rules_tests", "control_tests", "netlists_tests", "solve_tests"]  # the first that fails ends it
SWITCH = "LOOMPROOF_MUTANT"
HEADER = f"""// Which mutant of tests/mutants is on: none unless {SWITCH} says so.
#pragma once
#include <cstdlib>
namespace loomproof {{
inline const int chosen_mutant = std::getenv("{SWITCH}") != nullptr ? std::atoi(std::getenv("{SWITCH}")) : 0;
inline bool mutant(int number) {{ return chosen_mutant == number; }}
}}  // namespace loomproof
"""


class Fault(Exception):
    pass


def mutants():
    listed = [mutant for name in LISTS for mutant in yaml.safe_load((HERE / name).read_text())]
    for number, mutant in enumerate(listed, 1):
        if set(mutant) != {"file", "code", "becomes", "why"}:
            raise Fault(f"mutant {number}: has {sorted(mutant)}, needs file, code, becomes, why")
        mutant["number"] = number
    return listed


def pattern_of(text):
    """Words in that order, none of them a part of a longer one; how the source breaks its lines does not matter."""
    pattern = r"\s+".join(re.escape(word) for word in text.split())
    return ((r"(?<!\w)" if re.match(r"\s*\w", text) else "") + pattern + (r"(?!\w)" if re.search(r"\w\s*$", text) else ""))


def place(mutant):
    """Where the expression stands in its source: (start, end). The snippet is what makes it the only one."""
    code = mutant["code"].strip()
    before, expression, after = re.fullmatch(r"(?s)(.*)«(.*)»(.*)", code).groups() if "«" in code else ("", code, "")
    gaps = [r"\s*" if text and text != text.rstrip() else "" for text in (before, expression)]
    lead = r"\s*" if after != after.lstrip() else ""
    whole = f"{pattern_of(before)}{gaps[0]}(?P<expression>{pattern_of(expression)}){gaps[1]}{lead}{pattern_of(after)}"
    found = list(re.finditer(whole, (ROOT / mutant["file"]).read_text()))
    if len(found) != 1:
        raise Fault(f"mutant {mutant['number']}: its snippet stands {len(found)} times in {mutant['file']}: {code}")
    if " ".join(mutant["becomes"].split()) == " ".join(expression.split()):
        raise Fault(f"mutant {mutant['number']}: changes nothing")
    return found[0].span("expression")


def check(listed):
    faults = []
    for mutant in listed:
        try:
            place(mutant)
        except (Fault, OSError) as fault:
            faults.append(str(fault))
    mutated = {mutant["file"] for mutant in listed}
    for name in sorted(mutated) if not faults else ():
        try:
            mutated_text(name, [mutant for mutant in listed if mutant["file"] == name])
        except Fault as fault:
            faults.append(str(fault))
    for source in sorted((ROOT / "src" / "rules").glob("*.cpp")):
        name = f"src/rules/{source.name}"
        if re.search(r"^const Rule \w+\{", source.read_text(), re.M) and name not in mutated:
            faults.append(f"{name} judges, and has no mutant in tests/mutants/mutants.yaml")
    print("\n".join(faults) if faults else f"{len(listed)} mutants in {len(mutated)} files, every snippet in its place")
    return bool(faults)


def mutated_text(name, here):
    text = (ROOT / name).read_text()
    by_place = {}
    for mutant in here:
        by_place.setdefault(place(mutant), []).append(mutant)
    last = len(text) + 1
    for (start, end), switched in sorted(by_place.items(), reverse=True):
        if end > last:
            raise Fault(f"{name}: mutants {[m['number'] for m in switched]} overlap others")
        last = start
        choice = " : ".join(f"mutant({m['number']}) ? ({m['becomes'].strip()})" for m in switched)
        text = f"{text[:start]}({choice} : ({text[start:end]})){text[end:]}"
    return f'#include "units/mutant.h"\n#line 1\n{text}'


def write_if_changed(path, content):
    """Leaves the time of an unchanged file alone, so that only what differs is built anew."""
    if path.exists() and path.read_bytes() == content:
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def copy_tree(copy, listed):
    by_file = {}
    for mutant in listed:
        by_file.setdefault(mutant["file"], []).append(mutant)
    wanted = {"src/units/mutant.h": HEADER.encode()}
    for top in ("CMakeLists.txt", "CMakePresets.json", "README.md", "CHANGELOG.md", "LICENSE", "DEVELOPERS.md"):
        wanted[top] = (ROOT / top).read_bytes()
    for folder in ("src", "tests", "netlists", "docs"):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                wanted[str(path.relative_to(ROOT))] = path.read_bytes()
    for name, here in by_file.items():
        wanted[name] = mutated_text(name, here).encode()
    for name, content in wanted.items():
        write_if_changed(copy / name, content)
    for folder in ("src", "tests", "netlists", "docs"):
        for path in list((copy / folder).rglob("*")):
            if path.is_file() and str(path.relative_to(copy)) not in wanted:
                path.unlink()


def build(copy):
    log = copy / "build.log"
    with open(log, "w") as out:
        for command in (["cmake", "--preset", "release"],
                        ["cmake", "--build", "--preset", "release", "-j1", "--target", *PROGRAMS]):
            if subprocess.run(command, cwd=copy, stdout=out, stderr=subprocess.STDOUT).returncode:
                raise Fault(f"the mutated copy does not build: {log}")


def run(copy, program, number, limit_s):
    """(what ended it or None, seconds): a failed test case, a crash, or the time limit."""
    environment = {k: v for k, v in os.environ.items() if k != SWITCH}
    if number:
        environment[SWITCH] = str(number)
    begun = time.monotonic()
    try:
        done = subprocess.run([copy / ".build/release/tests" / program, "--abort-after=1", "--no-colors=true"],
                              cwd=copy, env=environment, capture_output=True, text=True, errors="replace",
                              timeout=limit_s)
    except subprocess.TimeoutExpired:
        return "time limit", time.monotonic() - begun
    lasted = time.monotonic() - begun
    if done.returncode == 0:
        return None, lasted
    cases = re.findall(r"TEST CASE:\s*(.*)", done.stdout)  # the last: a case that only says something has its title too
    return (cases[-1].strip() if cases else f"ended with {done.returncode}"), lasted


def limits_of(copy):
    """By program: how long it may take. Nothing when one fails without a mutant."""
    limits = {}
    for program in PROGRAMS:
        ended, lasted = run(copy, program, 0, 1800)
        print(f"without a mutant  {program:14} {lasted:6.1f} s  {ended or 'passes'}", flush=True)
        if ended:
            return None
        limits[program] = 30 + 8 * lasted
    return limits


def verdict(copy, mutant, limits):
    """(program, what ended it), or (None, None) when the mutant survives; printed as a row of the table."""
    program = ended = None
    for program in PROGRAMS:
        ended, _ = run(copy, program, mutant["number"], limits[program])
        if ended:
            break
    said = f"{program:14} {ended}" if ended else "SURVIVED"
    print(f"{mutant['number']:3} {pathlib.Path(mutant['file']).name:26} {said}", flush=True)
    return (program, ended) if ended else (None, None)


def main(arguments):
    listed = mutants()
    if arguments == ["--check"]:
        return check(listed)
    copy = pathlib.Path(arguments.pop(0)).resolve()
    if copy == ROOT or copy in ROOT.parents:
        raise Fault("the copy needs a folder of its own")
    at_a_time = int(arguments.pop(1)) if arguments[:1] == ["-j"] else 1
    numbers = [int(a) for a in arguments if a != "-j"]
    chosen = [mutant for mutant in listed if mutant["number"] in numbers or not numbers]
    copy_tree(copy, listed)
    build(copy)
    limits = limits_of(copy)
    if limits is None:
        return True
    begun = time.monotonic()
    with ThreadPoolExecutor(at_a_time) as pool:
        seen = list(pool.map(lambda mutant: verdict(copy, mutant, limits), chosen))
    by_program = ", ".join(f"{sum(s[0] == p for s in seen)} by {p}" for p in PROGRAMS)
    by_time = sum(s[1] == "time limit" for s in seen)
    survivors = [mutant for mutant, s in zip(chosen, seen) if s[0] is None]
    print(f"{len(chosen) - len(survivors)} of {len(chosen)} caught: {by_program}, {by_time} of them by time; "
          f"{time.monotonic() - begun:.0f} s")
    for mutant in survivors:
        print(f"survived: {mutant['number']} {mutant['file']}: {' '.join(mutant['code'].split())} "
              f"-> {mutant['becomes']}: {mutant['why']}")
    return bool(survivors)


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    try:
        sys.exit(main(sys.argv[1:]))
    except Fault as fault:
        sys.exit(str(fault))
