#!/bin/sh
# Measures the parts (parse_bench) and whole processes, each of these beside `sed` on the same file, and checks what
# every run wrote. Installs what is missing (Debian 12, as root) and builds a release.
#   sh tests/bench/run.sh [MEGABYTES]    200 without a number; RUNS=n repeats each run n times instead of 5
# Ends with 1 where a run's output is wrong.
set -eu
megabytes=${1:-200}
runs=${RUNS:-5}
cd "$(dirname "$0")/../.."
. tests/prepare.sh
install_missing libbenchmark-dev time
quietly cmake --preset release -DRESTEP_BENCH=ON
build release restep restep_fixtures parse_bench

top=$PWD
built=$top/.build/release
restep=$built/restep
work=$top/.build/bench
rm -rf "$work"
mkdir -p "$work"
cd "$work"

echo "== parts"
"$built/tests/parse_bench" --benchmark_min_time=0.5 || fail "parse_bench failed"

echo "== whole processes, $megabytes MB, median of $runs"
"$built/fixtures/restep_fixtures" raster program.nc --bytes $((megabytes * 1000000))
bytes=$(wc -c <program.nc)
cuts=$(grep -cE '^(G1 Z|X.* Y)' program.nc)

# measure NAME COMMAND...: seconds, kB, user and system seconds of one run into NAME.times; standard output is thrown
# away, what is said of the program (warnings) too.
measure() {
  name=$1
  shift
  LC_ALL=C command time -a -o "$name.times" -f '%e %M %U %S' "$@" >/dev/null 2>"$name.err" || {
    cat "$name.err" >&2
    fail "failed: $*"
  }
}

run=0
while [ $run -lt "$runs" ]; do
  run=$((run + 1))
  measure sed sh -c "LC_ALL=C exec sed -E 's/F[0-9]+\\.?[0-9]*/F250/' program.nc >sed.nc"
  measure rewrite "$restep" rewrite program.nc --machine "$top/tests/bench/machine.toml" -o rewritten.nc
  measure slowed "$restep" rewrite program.nc --machine column-mill -o slowed.nc
  measure limited "$restep" rewrite program.nc --machine "$top/tests/bench/slow_axes.toml" -o limited.nc
  measure afresh "$restep" rewrite program.nc --machine bench-mill -o afresh.nc
  measure inspect "$restep" inspect program.nc --json inspected.json
  measure compare "$restep" compare program.nc program.nc
done

# same_path A B [options]: the two programs move alike (feeds and spindle may differ).
same_path() {
  "$restep" compare "$@" --json compared.json >/dev/null 2>&1 || true
  grep -q '"same_path": true' compared.json || fail "another path: $*"
}
[ "$(wc -l <sed.nc)" = "$(wc -l <program.nc)" ] || fail "sed lost lines"
same_path program.nc rewritten.nc
same_path program.nc slowed.nc
same_path program.nc limited.nc
same_path program.nc afresh.nc --from-b small-firmware-remarks
grep -q '^G1 Z-5.8361 F250' rewritten.nc || fail "the plunge was not clamped"
[ "$(grep -o 'F[0-9.]*' slowed.nc | sort -u | tr '\n' ' ')" = "F200 F600 " ] || fail "feeds that do not go with the spindle"
LC_ALL=C awk 'match($0, /F[0-9.]+/) { f = substr($0, RSTART + 1, RLENGTH - 1); if (f > most) most = f }
  END { exit !(most >= 500 && most <= 500 * sqrt(2) + 0.001) }' limited.nc || fail "feeds above the limits, or too low"
grep -q "^  \"motions\": $((cuts + 4))," inspected.json || fail "inspect counts other motions than the $cuts cuts and 4 rapids"

# Of each kind: the median of the seconds on the clock and of those of the processors, the largest memory.
middle() { sort -n | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'; }
base=$(cut -d' ' -f1 sed.times | middle)
printf '%-10s %9s %9s %7s %7s %9s\n' "run" "seconds" "of CPU" "MB/s" "x sed" "peak MB"
for name in sed rewrite slowed limited afresh inspect compare; do
  seconds=$(cut -d' ' -f1 "$name.times" | middle)
  processors=$(awk '{ print $3 + $4 }' "$name.times" | middle)
  peak=$(cut -d' ' -f2 "$name.times" | sort -n | tail -1)
  awk -v n="$name" -v s="$seconds" -v c="$processors" -v b="$base" -v size="$bytes" -v k="$peak" 'BEGIN {
    if (s == 0) s = 0.005
    printf "%-10s %9.2f %9.2f %7.0f %7.2f %9.1f\n", n, s, c, size / s / 1e6, b / s, k / 1024 }'
done

echo "== start-up"
starts=100
begin=$(date +%s%N)
start=0
while [ $start -lt $starts ]; do
  start=$((start + 1))
  "$restep" --version >/dev/null
done
end=$(date +%s%N)
echo "restep --version: $(((end - begin) / starts / 1000)) us, process included"
rm -f ./*.nc
