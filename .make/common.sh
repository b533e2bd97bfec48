# shellcheck shell=bash
# Shared by the scripts in this folder: plain sentences, and Debian's packages where they are missing.

say() { printf '%s\n' "$*"; }
die() { printf '%s\n' "$*" >&2; exit 1; }

# One set-up at a time in one checkout: two that write .venv together would spoil it.
only_one_at_a_time() {
    mkdir -p var/static
    command -v flock >/dev/null || return 0
    exec 9>var/.set-up.lock
    flock -n 9 || { say "Waiting for another set-up in this folder to end."; flock 9; }
}

# apt_install PURPOSE PACKAGE...: Debian and Ubuntu only; elsewhere one sentence says what is missing.
apt_install() {
    local purpose=$1 as_root=()
    shift
    command -v apt-get >/dev/null ||
        die "$purpose: please install it with your system's package manager (Debian's names: $*) and run the same command again."
    if [ "$(id -u)" != 0 ]; then
        command -v sudo >/dev/null || die "$purpose: please run 'apt-get install $*' as root, then the same command again."
        as_root=(sudo)
    fi
    say "$purpose: installing Debian's $*"
    local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300 -o Dpkg::Use-Pty=0)
    if [ -z "${apt_is_fresh:-}" ]; then
        "${apt[@]}" update </dev/null >/dev/null || die "$purpose: 'apt-get update' failed, so $* could not be installed."
        apt_is_fresh=yes
    fi
    "${apt[@]}" install -y --no-install-recommends "$@" </dev/null >/dev/null ||
        die "$purpose: 'apt-get install $*' failed; what it printed is above."
}
