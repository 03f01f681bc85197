# The set-up that demo/run and tests/run share. Source it at the top of the tree, then: set_up LOCKFILE
# It makes .venv and installs exactly what LOCKFILE pins by hash. Once that stands, it needs neither time nor network.
# POSIX sh.

export PYTHONUTF8=1 # grower's scripts come out right in any locale
unset PYTHONHOME PYTHONPATH

die() {
    printf '%s: %s\n' "$0" "$*" >&2
    exit 1
}

# What is installed hangs on the lock and on how pyproject.toml packages the project, not on the tools' settings below that.
wanted() { sed '/^\[tool\.[^h]/,$d' pyproject.toml && cat "$1"; }

# .venv/root names the folder for which .venv was finished: an unfinished one, or one moved or copied here, is made anew.
whole() { [ "$(cat .venv/root 2>/dev/null)" = "$PWD" ] && .venv/bin/python -c '' 2>/dev/null; }

ready() { whole && wanted "$1" | cmp -s - ".venv/$1"; }

set_up() {
    if ready "$1"; then return; fi
    mkdir -p .venv 2>/dev/null || explain "$(mkdir -p .venv 2>&1)"
    # In a subshell that holds a lock on the folder, where the system has flock: two set-ups at once would spoil each other's.
    (
        if command -v flock >/dev/null; then flock 9; fi
        umask 022
        ready "$1" || install_from "$1"
    ) 9<.venv || exit 1
}

install_from() {
    whole || find_python
    printf '%s: setting up .venv, once; it takes about a minute ...\n' "$0" >&2
    if ! whole; then
        output=$("$python" -m venv --clear .venv 2>&1) || explain "$output"
    fi
    rm -f .venv/root
    output=$(.venv/bin/python -m pip install --disable-pip-version-check --require-hashes --only-binary :all: -r "$1" 2>&1) ||
        explain "$output"
    output=$(.venv/bin/python -m pip install --disable-pip-version-check --no-index --no-deps --no-build-isolation -e . 2>&1) ||
        explain "$output"
    { wanted "$1" >".venv/$1" && pwd >.venv/root; } 2>/dev/null || explain "No space left on device"
}

# Sets $python to the first Python 3.11 or later on the path that can make a virtual environment.
find_python() {
    venvless=
    for python in python3.11 python3.12 python3.13 python3.14 python3.15 python3; do
        version=$("$python" -c 'import sqlite3, ssl, sys; print("%d.%d" % sys.version_info[:2]); sys.exit(sys.version_info < (3, 11))' 2>/dev/null) || continue
        if "$python" -c 'import venv; from ensurepip import version' 2>/dev/null; then return; fi
        venvless=${venvless:-$version}
    done
    if [ "$venvless" ]; then
        die "Python $venvless has no venv module; on Debian and Ubuntu: sudo apt-get install python$venvless-venv"
    fi
    die "no Python 3.11 or later with sqlite3 and ssl on the path (tried python3.11 to python3.15 and python3)"
}

# Says in one line why a step failed whose output is $1, and stops.
explain() {
    case $1 in
    *"No space left"* | *"quota exceeded"*) die "the disk is full; make room and start again" ;;
    *"Temporary failure in name resolution"* | *"connection broken"* | *NewConnectionError* | *ConnectTimeout* | *"timed out"*)
        die "the package registry cannot be reached; the set-up needs the network, once" ;;
    esac
    # A full disk often shows as something else: ensurepip, for one, fails without a word on why.
    for folder in .venv "${TMPDIR:-/tmp}"; do
        room=yes
        { head -c 10000000 /dev/zero >"$folder/cutday-room"; } 2>/dev/null || room=
        rm -f "$folder/cutday-room"
        [ "$room" ] || die "no room left in $folder, or it cannot be written; make room and start again"
    done
    die "the set-up failed: $(printf '%s\n' "$1" | grep -v '^WARNING' | tail -n 1)"
}
