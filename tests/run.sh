#!/bin/sh
# Installs what is missing (Debian 12, as root), builds a release in .build/release and runs every test.
#   sh tests/run.sh [options for ctest, such as -R cutter]
set -eu
cd "$(dirname "$0")/.."
. tests/prepare.sh
install_missing
build release
exec ctest --preset release -j "$(nproc)" "$@"
