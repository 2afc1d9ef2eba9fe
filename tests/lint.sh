#!/bin/sh
# Lints sources with clang-tidy (.clang-tidy) and fails on any finding: many files at a time, so that their headers are
# parsed once, and as many such units in parallel as there are processors.
#   sh tests/lint.sh [FOLDER...]    src and grammar without a folder such as src/finish
set -eu
cd "$(dirname "$0")/.."
. tests/prepare.sh
install_missing clang-tidy-14
[ $# -gt 0 ] || set -- src grammar
quietly cmake --preset release

work=$PWD/.build/lint
rm -rf "$work"
mkdir -p "$work"
awk -v TOP="$PWD" -v TO="$work" -v UNDER="$*" -f tests/lint_units.awk .build/release/compile_commands.json \
  >"$work/units"
[ -s "$work/units" ] || fail "no source to lint in $*"

# Files that cannot stand in one unit, because the same name means two things in them, are told by the compiler: these
# are then linted each by itself.
export work
# shellcheck disable=SC2016 # the inner shell is to expand these
xargs -P "$(nproc)" -n 1 sh -c '
  lint() { clang-tidy-14 --quiet -p "$@" 2>/dev/null; }
  if found=$(lint "$work" "$0"); then exit 0; fi
  case $found in
    *clang-diagnostic-error*)
      status=0
      for file in $(sed "s/^#include \"//; s/\".*//" "$0"); do lint .build/release "$file" || status=1; done
      exit $status
      ;;
  esac
  printf "%s\n" "$found"
  exit 1' <"$work/units"
