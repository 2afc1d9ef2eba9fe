#!/bin/sh
# Builds the fuzz targets with clang under the address and undefined-behaviour sanitizers (preset sanitize) and runs
# them, as many at a time as there are processors:
#   sh tests/fuzz/run.sh [SECONDS [TARGET...]]    600 each without a number, all targets without a name
# What is found is written to .build/sanitize/fuzz as TARGET-crash-* and belongs into tests/fuzz/found/TARGET.
set -eu
cd "$(dirname "$0")/../.."
. tests/prepare.sh
seconds=${1:-600}
[ $# -eq 0 ] || shift
[ $# -gt 0 ] || set -- block_fuzz reader_fuzz profile_fuzz job_fuzz rewrite_fuzz
install_missing clang libclang-rt-14-dev
build sanitize "$@"

work=.build/sanitize/fuzz
for target in "$@"; do
  corpus=$work/$target
  mkdir -p "$corpus"
  case $target in
    block_fuzz) # one line each
      cat tests/fuzz/corpus/* fixtures/every-word/program.nc fixtures/numbered/program.nc fixtures/bad-*/program.nc |
        awk -v to="$corpus/line" 'NR <= 200 { name = to NR; printf "%s", $0 >name; close(name) }'
      ;;
    profile_fuzz) cp profiles/*/*.toml "$corpus" ;;
    job_fuzz) cp fixtures/*/*.toml "$corpus" ;;
    *)
      for program in fixtures/*/program.nc; do
        head -c 700 "$program" >"$corpus/$(basename "$(dirname "$program")").nc"
      done
      cp tests/fuzz/corpus/* "$corpus"
      ;;
  esac
  for found in "tests/fuzz/found/$target"/*; do
    if [ -f "$found" ]; then cp "$found" "$corpus"; fi
  done
done

cd "$work"
top=../../..
export top seconds
# shellcheck disable=SC2016 # the inner shell is to expand these
printf '%s\n' "$@" | xargs -P "$(nproc)" -I TARGET sh -c '
  case TARGET in *profile* | *job*) longest=8000 ;; block*) longest=300 ;; *) longest=1500 ;; esac
  if ../tests/TARGET TARGET -dict="$top/tests/fuzz/words.dict" -max_len="$longest" -timeout=20 -verbosity=0 \
    -artifact_prefix=TARGET- -max_total_time="$seconds" -print_final_stats=1 >TARGET.log 2>&1; then
    echo "TARGET: clean, $(awk "/number_of_executed_units/ { print \$2 }" TARGET.log) runs in $seconds s"
  else
    tail -40 TARGET.log >&2
    echo "TARGET: found something, see above" >&2
    exit 1
  fi'
