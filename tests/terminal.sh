#!/bin/sh
# terminal.sh RESTEP RESTEP_FIXTURES WORK: what only a real process on a real terminal shows: colour, progress, streams and the
# completions of the shells that are installed. What cannot be tried here is skipped with a word.
set -eu
source=$(cd "$(dirname "$0")/.." && pwd)
restep=$1 fixtures=$2 work=$3
export RESTEP_PROFILES="$source/profiles" TERM=xterm
unset NO_COLOR
mkdir -p "$work"
cd "$work"
failed=0
fail() { echo "FAILED: $*"; failed=1; }
escape=$(printf '\033')
part="$source/fixtures/bell-yoke/program.nc"

# The last step of a post: program in, program out, findings apart, exit status.
"$restep" rewrite "$part" --machine bench-mill -o by-name.nc >/dev/null 2>&1
"$restep" rewrite - --machine bench-mill <"$part" >by-stream.nc 2>findings.txt || fail "a stream is not rewritten"
cmp -s by-name.nc by-stream.nc || fail "the stream differs from the file"
grep -q 'warning:' findings.txt || fail "findings are not on standard error"
status=0
printf 'G1 X\n' | "$restep" rewrite - >refused.nc 2>findings.txt || status=$?
[ $status = 1 ] || fail "a refused stream exits with $status"
[ ! -s refused.nc ] || fail "a refused stream writes something"

"$restep" rewrite "$part" --machine bench-mill --tools workshop --finish cusp:2um -o out.nc >summary.txt 2>/dev/null
longest=$(awk '{ if (length($0) > most) most = length($0) } END { print most }' summary.txt)
[ "$longest" -le 80 ] || fail "the summary is $longest columns wide"

if command -v script >/dev/null; then
  on_terminal() { script -qec "$*" /dev/null </dev/null >terminal.txt 2>&1 || true; }
  on_terminal "'$restep' rewrite - -o out.nc < '$source/fixtures/bad-no-feed/program.nc'"
  grep -q "$escape\[" terminal.txt || fail "no colour on a terminal"
  on_terminal "NO_COLOR=1 '$restep' rewrite - -o out.nc < '$source/fixtures/bad-no-feed/program.nc'"
  grep -q 'error' terminal.txt || fail "no message with NO_COLOR"
  ! grep -q "$escape" terminal.txt || fail "colour with NO_COLOR"
  "$restep" rewrite - -o out.nc <"$source/fixtures/bad-no-feed/program.nc" >plain.txt 2>&1 || true
  ! grep -q "$escape" plain.txt || fail "colour without a terminal"

  "$fixtures" raster long.nc --bytes 300000000 >/dev/null
  on_terminal "'$restep' rewrite long.nc --machine bench-mill -o slow.nc"
  grep -qE '(reading|writing) .*%.*MB/s.*left' terminal.txt || fail "no progress with rate and remaining time on a terminal"
  on_terminal "'$restep' rewrite long.nc --machine bench-mill -o slow.nc 2>progress.txt"
  ! grep -q 'MB/s' terminal.txt progress.txt || fail "progress goes to what is not a terminal"
  on_terminal "'$restep' rewrite long.nc --machine bench-mill -o slow.nc --quiet"
  ! grep -q 'MB/s' terminal.txt || fail "progress in spite of --quiet"
  rm -f long.nc slow.nc
else
  echo "skipped: no script(1), so no terminal to try"
fi

# A shell's completion offers exactly the options that --help lists.
helped() { "$restep" "$1" --help | sed -n 's/^  \(-[a-zA-Z],\)\{0,1\}\(--[a-z-]*\).*/\2/p' | sort -u; }
alike() { cmp -s wanted.txt "$3" || { fail "$1 completes $2 otherwise than --help:"; diff wanted.txt "$3" || true; }; }
for command in rewrite inspect compare steps; do
  helped $command >wanted.txt
  [ "$(wc -l <wanted.txt)" -gt 4 ] || fail "--help of $command lists no options"
  if command -v bash >/dev/null; then
    bash -c '. "$1"; COMP_WORDS=(restep "$2" --); COMP_CWORD=2; _restep; printf "%s\n" "${COMPREPLY[@]}"' \
      bash "$source/src/packaging/restep.bash" $command | sort -u >bash.txt
    alike bash $command bash.txt
  else
    echo "skipped: no bash"
  fi
  if command -v fish >/dev/null; then
    HOME=$work fish --no-config -c "source '$source/src/packaging/restep.fish'; complete -C 'restep $command --'" |
      cut -f1 | grep '^--' | sort -u >fish.txt
    alike fish $command fish.txt
  else
    echo "skipped: no fish"
  fi
  if command -v zsh >/dev/null; then
    # _arguments is replaced by a function that shows what it was asked to offer.
    zsh -f -c '_arguments() { [[ $* == *"->"* || $* == *"*::"* ]] && { state=arguments line=($2); return 0; }; print -l -- "$@"; }
      compdef() { :; }; words=(restep $2 --); CURRENT=3; source $1' zsh "$source/src/packaging/restep.zsh" $command |
      grep -o -e '^\*\{0,1\}--[a-z-]*' -e '^-[a-z],--[a-z-]*' -e '^{-[a-z],--[a-z-]*' -e '^([^)]*)--[a-z-]*' |
      grep -o -e '--[a-z-]*$' | sort -u >zsh.txt
    alike zsh $command zsh.txt
  else
    echo "skipped: no zsh"
  fi
done
# zsh's functions are replaced by ones that show what they were asked to offer.
zsh_offers() {
  zsh -f -c '_arguments() { print -rl -- "$@"; }; _values() { shift; print -rl -- "$@"; }; compadd() { print -l -- ${(P)2}; }
    compdef() { :; }; restep() { "$RESTEP" "$@"; }; words=("${@:2}"); CURRENT=${#words}; source $1' zsh \
    "$source/src/packaging/restep.zsh" "$@"
}
export RESTEP="$restep"
bash_offers() {
  bash -c 'restep() { "$RESTEP" "$@"; }; . "$1"; COMP_WORDS=("${@:2}"); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _restep
    printf "%s\n" "${COMPREPLY[@]}"' bash "$source/src/packaging/restep.bash" "$@"
}
fish_offers() {
  HOME=$work fish --no-config -c "function restep; \$RESTEP \$argv; end; source '$source/src/packaging/restep.fish'
    complete -C '$*'" | cut -f1
}

# profiles: its subcommands, and the options of each.
"$restep" profiles --help | sed -n '/^Subcommands/,/^$/s/^  \([a-z]*\) .*/\1/p' | sort >wanted.txt
[ "$(wc -l <wanted.txt)" -gt 3 ] || fail "--help of profiles lists no subcommands"
for shell in bash zsh fish; do
  command -v $shell >/dev/null || { echo "skipped: no $shell"; continue; }
  ${shell}_offers restep profiles '' | grep -x '[a-z]*' | grep . | sort >offered.txt || true
  alike $shell profiles offered.txt
done
cp wanted.txt subcommands.txt
while read -r what; do
  "$restep" profiles "$what" --help | sed -n 's/^  \(-[a-zA-Z],\)\{0,1\}\(--[a-z-]*\).*/\2/p' | sort -u >wanted.txt
  for shell in bash zsh fish; do
    command -v $shell >/dev/null || continue
    ${shell}_offers restep profiles "$what" -- | grep -o -e '^--[a-z-]*' | sort -u >offered.txt || true
    alike $shell "profiles $what" offered.txt
  done
done <subcommands.txt

# What --skip and --with take: every stage and "all", or those that run on request.
"$restep" rewrite --help | sed -n '/^Stages/,/^$/s/^  \([a-z-]*\) .*/\1/p' | sort >stages.txt
"$restep" rewrite --help | sed -n 's/^  \([a-z-]*\) *(--with).*/\1/p' | sort >with.txt
{ cat stages.txt; echo all; } | sort >skip.txt
[ "$(wc -l <with.txt)" -gt 2 ] && [ "$(wc -l <stages.txt)" -gt 10 ] || fail "--help of rewrite lists no stages"
for option in skip with; do
  cp $option.txt wanted.txt
  if command -v bash >/dev/null; then
    bash_offers restep rewrite --$option '' | sort >offered.txt
    alike bash --$option offered.txt
  fi
  if command -v fish >/dev/null; then
    fish_offers restep rewrite --$option ' ' | sort >offered.txt
    alike fish --$option offered.txt
  fi
  if command -v zsh >/dev/null; then
    # The action of the option, run by itself.
    action=$(zsh_offers restep rewrite '' | sed -n "s/^\*--$option\[.*{\(.*\)}\$/\1/p")
    RESTEP=$restep zsh -f -c 'compdef() { :; }; restep() { "$RESTEP" "$@"; }; compadd() { print -l -- ${(P)2}; }
      _arguments() { :; }; words=(restep steps ""); CURRENT=3; source $1; eval $2' \
      zsh "$source/src/packaging/restep.zsh" "$action" | sort >offered.txt
    alike zsh --$option offered.txt
  fi
done

# Where profiles are looked for, the first folder first: RESTEP_PROFILES, ./profiles, the user's, the install prefix.
rm -rf order
mkdir -p order/prefix/bin
cp "$restep" order/prefix/bin/restep
for folder in order/own order/profiles order/config/restep/profiles order/prefix/share/restep/profiles; do
  mkdir -p "$folder/machines"
  printf 'profile = "machine"\ntitle = "%s"\ndialect = "rs274ngc"\n' "$folder" >"$folder/machines/found.toml"
done
for first in order/own order/profiles order/config/restep/profiles order/prefix/share/restep/profiles; do
  found=$(cd order && RESTEP_PROFILES=$PWD/own XDG_CONFIG_HOME=$PWD/config prefix/bin/restep inspect "$part" --machine found \
    2>/dev/null | sed -n 's/^machine .*(\(.*\))$/\1/p')
  [ "$found" = "$first" ] || fail "a profile of $first is not found first, but of '$found'"
  rm -r "$first"
done

exit $failed
