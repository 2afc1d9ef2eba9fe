# shellcheck shell=sh
# Sourced by tests/run.sh and fixtures/demo.sh, which stand in the project's top folder by then: installs what is
# missing on a fresh Debian 12 and builds. Says nothing when there is nothing to install and nothing to complain of.

fail() {
  echo "$*" >&2
  exit 1
}

# Runs a command and shows what it printed only when it fails.
quietly() {
  log=$(mktemp)
  if "$@" >"$log" 2>&1; then
    rm -f "$log"
  else
    status=$?
    cat "$log" >&2
    rm -f "$log"
    fail "failed ($status): $*"
  fi
}

# install_missing [PACKAGE...]: what the build needs, and these.
install_missing() {
  command -v dpkg-query >/dev/null || return 0 # not a Debian: CMake will say what it misses
  missing=
  for package in cmake ninja-build g++ pkg-config libboost1.81-dev libcli11-dev libeigen3-dev libfmt-dev catch2 \
    libtomlplusplus-dev nlohmann-json3-dev libexpected-dev librapidcheck-dev "$@"; do
    case $(dpkg-query -W -f='${Status}' "$package" 2>/dev/null) in
      "install ok installed") ;;
      *) missing="$missing $package" ;;
    esac
  done
  [ -n "$missing" ] || return 0
  [ "$(id -u)" = 0 ] || fail "these packages are missing; install them, or run this as root:$missing"
  echo "installing$missing"
  quietly apt-get update
  # shellcheck disable=SC2086 # the list is meant to split
  DEBIAN_FRONTEND=noninteractive quietly apt-get install -y --no-install-recommends $missing
}

# build PRESET [TARGET...]: configures and builds into .build/PRESET, with ccache where it is at hand.
build() {
  preset=$1
  shift
  launcher=
  if command -v ccache >/dev/null; then launcher=-DCMAKE_CXX_COMPILER_LAUNCHER=ccache; fi
  quietly cmake --preset "$preset" $launcher
  # shellcheck disable=SC2046 # one option per target
  cmake --build --preset "$preset" $(printf -- '--target %s ' "${@:-all}") -- --quiet ||
    fail "the $preset build failed"
}
