#!/usr/bin/env python3
"""Runs every fuzzer for so many seconds, one after another, and prints what each did.

Usage: run.py BUILD SECONDS [TARGET ...]     BUILD is the build folder of the preset `fuzz`

The seed corpus is the demos, their broken variants and the small designs of the rules, copied into BUILD/corpus, where
what is learnt stays too. What ends a fuzzer lies in BUILD/found afterwards; mended, it moves to tests/fuzz/found.
"""
import pathlib
import re
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
QUANTITY = re.compile(r"[-+]?[0-9][^,{}\[\]:#\n]*")


def seeds(target, corpus):
    corpus.mkdir(parents=True, exist_ok=True)
    if target == "units":
        texts = {m.group().strip() for f in ROOT.glob("netlists/*.yaml") for m in QUANTITY.finditer(f.read_text())}
        for number, text in enumerate(sorted(texts)):
            for dimension in range(14):
                (corpus / f"seed-{number}-{dimension}").write_bytes(bytes([dimension]) + text.encode())
        return
    files = list(ROOT.glob("tests/rules/*/*.yaml"))
    # Whole demos take the reader no time; a check of one takes as long as that of a hundred small designs.
    files += ROOT.glob("netlists/**/*.yaml" if target == "reader" else "netlists/orchard-cart.yaml")
    for file in files:
        if not file.name.endswith(".ask.yaml"):
            shutil.copy(file, corpus / f"seed-{file.parent.name}-{file.name}")


def run(build, target, seconds):
    corpus, found = build / "corpus" / target, build / "found"
    seeds(target, corpus)
    found.mkdir(exist_ok=True)
    words = build / "dictionary.txt"
    words.write_bytes(subprocess.run([build / "tests/fuzz/fuzz_dictionary"], capture_output=True, check=True).stdout)
    log = build / f"fuzz-{target}.log"
    with log.open("wb") as out:
        code = subprocess.run(
            [build / f"tests/fuzz/fuzz_{target}", corpus, ROOT / "tests/fuzz/found", f"-max_total_time={seconds}",
             f"-dict={words}", f"-artifact_prefix={found}/{target}-", f"-max_len={400 if target == 'units' else 20000}",
             "-rss_limit_mb=2000", "-timeout=10", "-print_final_stats=1"],
            stdout=out, stderr=subprocess.STDOUT).returncode
    said = log.read_text(errors="replace")
    done = re.findall(r"stat::number_of_executed_units: *(\d+)|^#(\d+)", said, re.M)
    covered = re.findall(r"cov: (\d+)", said)
    print(f"{target}: {''.join(done[-1]) if done else 0} executions, {covered[-1] if covered else 0} edges, "
          f"{'nothing found' if code == 0 else f'FOUND, see {log}'}", flush=True)
    return code


def main():
    build, seconds = pathlib.Path(sys.argv[1]).resolve(), int(sys.argv[2])
    return max([run(build, t, seconds) for t in sys.argv[3:] or ["reader", "units", "check", "output"]]) != 0


sys.exit(main())
