#!/bin/sh
# package.sh BUILD WORK: builds the Debian packages from a finished build folder, looks into them, runs the installed program and
# removes it again; then builds the program in tests/consumer against the installed library. With root and dpkg the package is
# really installed and purged; otherwise it is unpacked into WORK. Exit status 77 where there is no dpkg.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
build=$1 work=$2
command -v dpkg-deb >/dev/null || { echo "no dpkg"; exit 77; }
rm -rf "$work"
mkdir -p "$work/debs"
(cd "$build" && cpack -B "$work/debs" >"$work/cpack.log") || { cat "$work/cpack.log"; exit 1; }
runtime=$(echo "$work"/debs/restep_*.deb)

echo "== what is in the package"
dpkg-deb -c "$runtime" >"$work/list"
for file in usr/bin/restep usr/share/restep/profiles/machines/bench-mill.toml usr/share/restep/schema/restep-report.schema.json \
  usr/share/man/man1/restep.1 usr/share/bash-completion/completions/restep usr/share/zsh/vendor-completions/_restep \
  usr/share/fish/vendor_completions.d/restep.fish usr/share/doc/restep/copyright; do
  grep -q "\./$file" "$work/list" || { echo "missing: $file"; exit 1; }
done

# use ROOT: the program runs from there with nothing but the profiles it brought.
use() {
  cd "$work"
  out=$(env -i PATH="$1/usr/bin:/usr/bin:/bin" HOME="$work/home" restep inspect "$here/fixtures/bell-yoke/program.nc" --machine bench-mill \
    --tools workshop --report "$work/yoke.html") || { echo "$out"; exit 1; }
  echo "$out" | grep -q 'convex round R1.50'
  grep -q 'class="good"' "$work/yoke.html"
  cd "$here"
}

if [ "${RESTEP_PACKAGE_INSTALL:-}" = 1 ] && [ "$(id -u)" = 0 ]; then
  echo "== install, run, uninstall"
  dpkg -i "$runtime" >/dev/null
  use /
  dpkg --purge restep >/dev/null
  [ ! -e /usr/bin/restep ] && [ ! -e /usr/share/restep ]
else
  echo "== unpack, run, remove"
  dpkg-deb -x "$runtime" "$work/root"
  use "$work/root"
  rm -rf "$work/root"
fi

echo "== find_package(restep)"
cmake --install "$build" --prefix "$work/prefix" >/dev/null
cmake -S "$here/tests/consumer" -B "$work/consumer" -DCMAKE_PREFIX_PATH="$work/prefix" -DCMAKE_BUILD_TYPE=Release >"$work/consumer.log" ||
  { cat "$work/consumer.log"; exit 1; }
cmake --build "$work/consumer" >>"$work/consumer.log" || { cat "$work/consumer.log"; exit 1; }
"$work/consumer/cusp_of"
"$work/prefix/bin/restep" --version
