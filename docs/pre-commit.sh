#!/bin/sh
# A git hook: no loom goes into the history while something in it is broken. Copy it to .git/hooks/pre-commit.
# It checks what is staged, not what lies in the folder.
git diff --cached --name-only --diff-filter=ACM -z -- '*.yaml' | tr '\0' '\n' | {
  status=0
  while IFS= read -r file; do
    git show ":$file" | grep -q '^loom:' || continue
    git show ":$file" | loomproof check - && continue
    # Of the pipe this is the exit code of `check`. 3: nothing is broken, something is undecided; say so and go on.
    if [ $? -eq 3 ]; then echo "$file: undecided" >&2; else echo "$file: not committed" >&2; status=1; fi
  done
  exit $status
}
