# Completion of restep for bash.
_restep() {
  local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]}
  local options kind
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    mapfile -t COMPREPLY < <(compgen -W "rewrite inspect compare steps profiles --help --version" -- "$current")
    return
  fi
  case $previous in
    --machine) kind=machine ;;
    --from | --from-a | --from-b) kind=dialect ;;
    --tools) kind=tools ;;
    --finish)
      mapfile -t COMPREPLY < <(compgen -W "cusp: ra: rz: n4 n5 n6 n7 n8" -- "$current")
      return
      ;;
    --with)
      mapfile -t COMPREPLY < <(compgen -W "$(restep rewrite --help | sed -n 's/^  \([a-z-]*\) *(--with).*/\1/p')" -- "$current")
      return
      ;;
    --skip)
      mapfile -t COMPREPLY < <(compgen -W "all $(restep rewrite --help | sed -n '/^Stages/,/^$/s/^  \([a-z-]*\) .*/\1/p')" -- "$current")
      return
      ;;
    --out-dir)
      mapfile -t COMPREPLY < <(compgen -d -- "$current")
      return
      ;;
    -o | --output | --job | --report | --json)
      mapfile -t COMPREPLY < <(compgen -f -- "$current")
      return
      ;;
    show) [[ $command == profiles && $current != -* ]] && kind=. ;;
    new)
      if [[ $command == profiles && $current != -* ]]; then
        mapfile -t COMPREPLY < <(compgen -W "dialect machine tools" -- "$current")
        return
      fi
      ;;
  esac
  if [[ -n $kind ]]; then
    mapfile -t COMPREPLY < <(
      compgen -W "$(restep profiles list 2>/dev/null | awk -v kind="$kind" '$1 ~ kind {print $2}')" -- "$current"
      compgen -f -X '!*.toml' -- "$current"
    )
    return
  fi
  case $command in
    rewrite) options="--output --out-dir --in-place --machine --from --tools --tool --offset --job --finish --max-stepdown --min-stepdown --extend --pass --skip --with --path-tol --report --json --quiet --verbose --help" ;;
    inspect) options="--machine --from --tools --tool --offset --job --report --json --quiet --verbose --help" ;;
    compare) options="--from-a --from-b --tol --shift --report --json --quiet --help" ;;
    steps) options="--tool --surface --finish --max-stepdown --min-stepdown --json --help" ;;
    profiles)
      case ${COMP_WORDS[2]} in
        list | show | check) ((COMP_CWORD > 2)) && options="--json --help" ;;
        new) ((COMP_CWORD > 2)) && options="--help" ;;
      esac
      ((COMP_CWORD == 2)) && options="list show check new --help"
      ;;
  esac
  if [[ $current == -* || $command == profiles && $COMP_CWORD -eq 2 ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$current")
  else
    mapfile -t COMPREPLY < <(compgen -f -- "$current")
  fi
}
complete -o filenames -F _restep restep
