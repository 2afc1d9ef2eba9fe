#compdef restep
# Completion of restep for zsh.

_restep_profiles() {
  local -a names
  names=(${(f)"$(restep profiles list 2>/dev/null | awk -v kind="$1" '$1 ~ kind {print $2}')"})
  compadd -a names
  _files -g '*.toml'
}

# The stages in rewrite's help that the expression of sed finds, and further words.
_restep_stages() {
  local -a names
  names=(${@:2} ${(f)"$(restep rewrite --help 2>/dev/null | sed -n "/^Stages/,/^$/$1")"})
  compadd -a names
}

_restep() {
  local -a setup talk
  setup=(
    '*--machine[machine that runs it, repeatable with rewrite]:machine:{_restep_profiles machine}'
    '--from[dialect it is written in]:dialect:{_restep_profiles dialect}'
    '--tools[tool table]:tools:{_restep_profiles tools}'
    '*--tool[one tool, such as T3 = bull 3 r0.3]:tool:'
    '*--offset[work zero, such as G54 = X120 Y80 Z-150]:offset:'
    '--job[all of this in TOML]:file:_files -g "*.toml"'
  )
  talk=('(-q --quiet)'{-q,--quiet}'[warnings and errors alone]' '(-v --verbose)'{-v,--verbose}'[list the edits as well]')
  if ((CURRENT == 2)); then
    _values command 'rewrite[re-step, clamp, make safe, write, read back]' 'inspect[what a program does]' \
      'compare[is it the same cut?]' 'steps[the calculator]' 'profiles[dialects, machines and tool tables]' \
      '--help' '--version'
    return
  fi
  local command=$words[2]
  shift words
  ((CURRENT--))
  case $command in
    rewrite)
      _arguments $setup $talk '(-o --output)'{-o,--output}'[where the result goes]:file:_files' '--out-dir[folder for several results]:folder:_files -/' \
        '--in-place[replace the program]' '--finish[cusp\:1um, ra\:0.4um, rz\:1.6um or n5]:finish:' \
        '--max-stepdown[never step down further]:length:' '--min-stepdown[never step down less]:length:' \
        "--extend[add levels above a round's first, up to tangency]" '--pass[only these passes]:list:' '*--skip[leave a stage out, or all]:stage:{_restep_stages "s/^  \([a-z-]*\) .*/\1/p" all}' \
        '*--with[run a stage as well]:stage:{_restep_stages "s/^  \([a-z-]*\) *(--with).*/\1/p"}' '--path-tol[how far --with may leave the path]:length:' \
        '--report[HTML report]:file:_files' '--json[JSON report]:file:_files' '--help[the options]' '*:program:_files'
      ;;
    inspect) _arguments $setup $talk '--report[HTML report]:file:_files' '--json[JSON report]:file:_files' '--help[the options]' ':program:_files' ;;
    compare)
      _arguments '--from-a[dialect of A]:dialect:{_restep_profiles dialect}' '--from-b[dialect of B]:dialect:{_restep_profiles dialect}' \
        '--tol[how far the ways may part]:length:' '--shift[B is A moved by this]:axes:' '--report[HTML report]:file:_files' '--json[the result as JSON]:file:_files' '--quiet[exit status alone]' '--help[the options]' \
        ':A:_files' ':B:_files'
      ;;
    steps)
      _arguments '--tool[such as bull 3 r0.3]:tool:' '--surface[such as round 1.5]:surface:' '--finish[such as cusp\:1um]:finish:' \
        '--max-stepdown[never step down further]:length:' '--min-stepdown[never step down less]:length:' '--json[the table as JSON]:file:_files' '--help[the options]'
      ;;
    profiles)
      if ((CURRENT == 2)); then
        _values what list show check new --help
        return
      fi
      local what=$words[2]
      shift words
      ((CURRENT--))
      case $what in
        list) _arguments '--json[as JSON]:file:_files' '--help[the options]' ;;
        show) _arguments '--json[as JSON]:file:_files' '--help[the options]' ':profile:{_restep_profiles .}' ;;
        check) _arguments '--json[as JSON]:file:_files' '--help[the options]' ':file:_files -g "*.toml"' ;;
        new) _arguments '--help[the options]' ':kind:(dialect machine tools)' ;;
      esac
      ;;
  esac
}

_restep "$@"
