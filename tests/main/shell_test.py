#!/usr/bin/env python3
"""The man page names every command, and the shell's completion offers every command, option and rule.

Usage: shell_test.py PROGRAM SOURCE_ROOT
"""
import os
import pathlib
import re
import subprocess
import sys

program, root = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2])


def output(*words):
    return subprocess.run([program, *words], capture_output=True, text=True, check=True).stdout


def completed(*words):
    line = " ".join(f"'{w}'" for w in words)
    script = (
        f"source {root}/docs/completion/loomproof.bash; COMP_WORDS=(loomproof {line}); COMP_CWORD={len(words)};"
        ' _loomproof; printf "%s\\n" "${COMPREPLY[@]}"'
    )
    path = f"{program.parent}:{os.environ['PATH']}"
    run = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True, env={"PATH": path})
    return set(run.stdout.split())


commands = set(re.findall(r"^  ([a-z]+) ", output("--help").split("Subcommands:")[1], re.M))
page = (root / "docs/loomproof.1").read_text()
wrong = [f"the man page lacks {c}" for c in sorted(commands) if f".B {c}" not in page]
wrong += [f"completion lacks {c}" for c in sorted(commands - completed(""))]
if completed("ch") != {"check"}:
    wrong.append(f"'ch' completes to {completed('ch')}")
for command in sorted(commands):
    options = set(re.findall(r"(?:^|[ ,])(--[a-z-]+)", output(command, "--help"), re.M))
    wrong += [f"completion of {command} lacks {o}" for o in sorted(options - completed(command, "--"))]
rules = {p.stem for p in (root / "docs/rules").glob("*.md")}
wrong += [f"completion lacks rule {r}" for r in sorted(rules ^ completed("why", ""))]
print("\n".join(wrong))
print(f"{len(commands)} commands, {len(rules)} rules: {len(wrong)} wrong")
sys.exit(bool(wrong) or len(commands) < 5 or len(rules) < 20)
