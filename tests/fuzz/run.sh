#!/bin/sh
# Builds the fuzz target with clang and runs it: sh tests/fuzz/run.sh [SECONDS]   (600 without a number)
# What it finds is written beside the build as crash-* and belongs into tests/fuzz/found.
set -eu
seconds=${1:-600}
cd "$(dirname "$0")/../.."
build=.build/fuzz
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=RelWithDebInfo -DCMAKE_CXX_COMPILER=clang++ -DRESTEP_FUZZ=ON
cmake --build "$build" --target reader_fuzz
corpus="$build/corpus"
mkdir -p "$corpus"
for program in fixtures/*/program.nc; do
  head -c 700 "$program" > "$corpus/$(basename "$(dirname "$program")").nc"
done
cp tests/fuzz/corpus/* "$corpus"
ls tests/fuzz/found/* >/dev/null 2>&1 && cp tests/fuzz/found/* "$corpus"
cd "$build"
exec tests/reader_fuzz corpus -dict=../../tests/fuzz/words.dict -max_len=1500 -timeout=20 \
  -max_total_time="$seconds" -print_final_stats=1
