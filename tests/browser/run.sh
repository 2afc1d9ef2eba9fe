#!/bin/sh
# run.sh RESTEP RESTEP_FIXTURES WORK: fetches what the browser test needs into WORK (pinned by the lock file) and runs it.
# Exit status 77 where there is no browser, no Node or no network to fetch with: the test is then skipped.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
restep=$1 fixtures=$2 work=$3
command -v node >/dev/null && command -v npm >/dev/null || { echo "no Node"; exit 77; }
command -v chromium >/dev/null || command -v chromium-browser >/dev/null || { echo "no chromium"; exit 77; }
mkdir -p "$work"
cp "$here"/package.json "$here"/package-lock.json "$here"/*.mjs "$work"
cd "$work"
if ! cmp -s package-lock.json installed; then
  npm ci --ignore-scripts --no-audit --no-fund || { echo "npm cannot fetch"; exit 77; }
  cp package-lock.json installed
fi
RESTEP_SOURCE=$(cd "$here/../.." && pwd) RESTEP=$restep RESTEP_FIXTURES=$fixtures node --test ./*.test.mjs
