# Finds FreeCAD's command line program, or installs it once. Sourced by workbench/run and tests/run (POSIX sh).
# shellcheck shell=sh

host_packages="freecad python3-numpy python3-yaml python3-ezdxf"
cache=${CRANKLINE_CACHE:-${HOME:-/tmp}/.cache/crankline}

say() { printf 'crankline: %s\n' "$*" >&2; }

refuse() {
    say "$@"
    exit 2
}

is_program() { [ -f "$1" ] && [ -x "$1" ]; }

# Sets `host` to the program in this prefix folder; fails if there is none.
host_in_prefix() {
    for host in "$1/bin/FreeCADCmd" "$1/bin/freecadcmd" "$1/usr/bin/FreeCADCmd" "$1/usr/bin/freecadcmd"; do
        is_program "$host" && return 0
    done
    host=
    return 1
}

# Sets `host`, in this order: what the user names, PATH, the active conda environment, the environment made here earlier, the usual
# places of the systems. $1: environment.yml, beside which these are listed.
find_host() {
    if [ -n "${CRANKLINE_FREECAD:-}" ]; then
        host=$CRANKLINE_FREECAD
        case $host in
        */*) is_program "$host" && return 0 ;;
        *) host=$(command -v -- "$host") && return 0 ;;
        esac
        host_in_prefix "$CRANKLINE_FREECAD" && return 0
        refuse "CRANKLINE_FREECAD is '$CRANKLINE_FREECAD', which is neither a program nor a folder with bin/FreeCADCmd in it:" \
            "correct it, or unset it to let Crankline look for FreeCAD itself."
    fi
    for host in FreeCADCmd freecadcmd; do
        host=$(command -v "$host") && is_program "$host" && return 0
    done
    [ -n "${CONDA_PREFIX:-}" ] && host_in_prefix "$CONDA_PREFIX" && return 0
    # Without the mark the environment was only half made.
    [ -f "$cache/conda/crankline-complete" ] && host_in_prefix "$cache/conda" && return 0
    host_in_places "${1%/*}/host_places.txt"
}

# Sets `host` to the last program that is at one of the places that a file lists; fails if there is none.
host_in_places() {
    host=
    [ -f "$1" ] || return 1
    while IFS= read -r place; do
        case $place in '#'* | '') continue ;; esac
        before=${IFS-}
        IFS=
        # shellcheck disable=SC2086 # the star in it stands for a version; spaces do not part it
        for found in $place; do is_program "$found" && host=$found; done
        IFS=$before
    done <"$1"
    [ -n "$host" ]
}

# True if apt-get may be run here without anybody being asked for a password; sets `as_root` to the words before it.
apt_allowed() {
    as_root=
    command -v apt-get >/dev/null || return 1
    [ "$(id -u)" = 0 ] && return 0
    as_root="sudo -n"
    command -v sudo >/dev/null && sudo -n apt-get --version >/dev/null 2>&1
}

# Asks the mirror what there is, unless that has been done lately: a fresh machine installs for several commands in a row.
apt_update() {
    [ -z "$(find "$cache/apt-updated" -mmin -30 2>/dev/null)" ] || return 0
    $as_root apt-get -q update >"$1" 2>&1 </dev/null || return 0
    { mkdir -p "$cache" && : >"$cache/apt-updated"; } 2>/dev/null
}

# Installs Debian packages; apt's own words are shown only when it fails.
apt_install() {
    say "installing with apt-get (once): $*"
    apt_log=$(mktemp)
    export DEBIAN_FRONTEND=noninteractive
    # A mirror that does not answer the update may still have its lists here: the install decides.
    apt_update "$apt_log"
    if $as_root apt-get -q -y --no-install-recommends -o DPkg::Lock::Timeout=900 install "$@" >>"$apt_log" 2>&1 </dev/null; then
        rm -f "$apt_log"
        return 0
    fi
    tail -n 8 "$apt_log" >&2
    rm -f "$apt_log"
    return 1
}

# Makes the environment of environment.yml (first argument) with the conda client (second) in our own folder.
conda_install() {
    say "installing FreeCAD from conda-forge with $2 into $cache/conda (once, some minutes)"
    rm -rf "$cache/conda"
    verb="env create"
    case ${2##*/} in micromamba*) verb="create" ;; esac
    # shellcheck disable=SC2086
    CONDA_ALWAYS_YES=true MAMBA_ALWAYS_YES=true "$2" $verb -p "$cache/conda" -f "$1" >&2 </dev/null || return 1
    host_in_prefix "$cache/conda" && : >"$cache/conda/crankline-complete"
}

install_host() {
    find_host "$1" && return 0 # another run may have installed it while this one waited
    for client in "${MAMBA_EXE:-}" mamba micromamba "${CONDA_EXE:-}" conda; do
        [ -n "$client" ] || continue
        "$client" --version >/dev/null 2>&1 || continue
        conda_install "$1" "$client" && return 0
        say "$client could not make the environment"
        break
    done
    if apt_allowed; then
        # shellcheck disable=SC2086
        apt_install $host_packages && return 0
        refuse "FreeCAD is not installed and apt-get could not install it (its last lines stand above): install FreeCAD 0.20.2" \
            "or later by hand and run this again, or name its command line program in CRANKLINE_FREECAD."
    fi
    if command -v apt-get >/dev/null; then
        refuse "FreeCAD is not installed and this user may not install packages without a password: run" \
            "'sudo apt-get install $host_packages' and then this again, or name FreeCAD's command line program in CRANKLINE_FREECAD."
    fi
    refuse "FreeCAD is not installed, and neither a conda client nor apt-get is here to install it: install FreeCAD 0.20.2 or" \
        "later with numpy and PyYAML, and put its command line program on PATH or name it in CRANKLINE_FREECAD."
}

# Sets `host`, installing FreeCAD if there is none (argument: environment.yml); two runs started together install once.
need_host() {
    find_host "$1" && return 0
    mkdir -p "$cache" 2>/dev/null
    if command -v flock >/dev/null && [ -w "$cache" ]; then
        (flock 9 && install_host "$1") 9>"$cache/lock" || exit $?
    else
        (install_host "$1") || exit $?
    fi
    find_host "$1" || refuse "FreeCAD was installed, but its command line program is not found: name it in CRANKLINE_FREECAD."
}

# True if the program (argument) comes from Debian packages and apt-get may add to it.
host_from_apt() {
    case $1 in /usr/bin/*) apt_allowed ;; *) false ;; esac
}
