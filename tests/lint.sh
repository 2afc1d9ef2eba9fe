#!/bin/sh
# Lints sources with clang-tidy (.clang-tidy) and fails on any finding: in the units in which the release build compiles
# them, so that their headers are parsed once, and as many units in parallel as there are processors.
#   sh tests/lint.sh [FOLDER...]    src and grammar without a folder such as src/finish
set -eu
cd "$(dirname "$0")/.."
. tests/prepare.sh
install_missing clang-tidy-14
[ $# -gt 0 ] || set -- src grammar
quietly cmake --preset release

sed -n 's/^ *"file": "\(.*\)",\{0,1\}$/\1/p' .build/release/compile_commands.json | sort -u >.build/lint-files
for folder in "$@"; do
  while read -r file; do
    case $file in
      "$PWD/$folder"/*) echo "$file" ;;
      */Unity/*) if grep -qF "\"$PWD/$folder/" "$file"; then echo "$file"; fi ;;
    esac
  done <.build/lint-files
done | sort -u >.build/lint-units
[ -s .build/lint-units ] || fail "no source to lint in $*"

# A unit includes sources, which nobody else is to do.
# shellcheck disable=SC2016 # the inner shell is to expand these
xargs -P "$(nproc)" -n 1 sh -c '
  found=$(clang-tidy-14 --quiet -p .build/release --checks=-bugprone-suspicious-include "$0" 2>/dev/null) && exit 0
  printf "%s\n" "$found"
  exit 1' <.build/lint-units
