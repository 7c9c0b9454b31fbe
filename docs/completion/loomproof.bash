# Completion for bash. It asks the program itself what there is, so it never lags behind it.
_loomproof() {
  local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} words
  if ((COMP_CWORD == 1)); then
    words=$(loomproof --help 2>/dev/null | sed -n '/^Subcommands:/,/^$/s/^  \([a-z]\+\).*/\1/p')
  elif [[ $word == -* ]]; then
    words=$(loomproof "$command" --help 2>/dev/null | grep -oE -- '(^|[ ,])--?[a-z][a-z-]*' | tr -d ' ,')
  elif [[ $command == why ]]; then
    words=$(loomproof why 2>/dev/null | sed -n 's/^  \([a-z][a-z-]*\) .*/\1/p')
  else
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
    return
  fi
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
}
complete -o filenames -F _loomproof loomproof
