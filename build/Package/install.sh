#!/bin/sh
# RootCellar @VERSION@ for a Linux without Debian's packages (glibc 2.28 or newer; not Alpine), from this folder:
#
#     sudo ./install              into /usr/local, or over an older version there; starts the service where there is systemd
#     sudo ./install --remove     takes the program away; the record and the settings stay
#     sudo ./install --purge      takes the record and the settings away too
set -e

version='@VERSION@' knows=@SCHEMA@ arch=@ARCH@
prefix=/usr/local data=/var/lib/rootcellar settings=/etc/rootcellar/rootcellar.json units=/etc/systemd/system
here=$(cd "$(dirname "$0")" && pwd)
PATH=$PATH:/usr/local/bin:/usr/sbin:/sbin

@GUARD@
say() { echo "rootcellar: $*"; }
fail() { echo "rootcellar: $*" >&2; exit 1; }
has_systemd() { [ -d /run/systemd/system ]; }

take_away() {
    if has_systemd; then systemctl disable --now rootcellar.socket rootcellar.service >/dev/null 2>&1 || true; fi
    rm -rf "$prefix/lib/rootcellar" "$prefix/bin/rootcellar" "$units/rootcellar.service" "$units/rootcellar.socket" \
        "$prefix/share/man/man1/rootcellar.1.gz" "$prefix/share/bash-completion/completions/rootcellar" "$prefix/share/doc/rootcellar"
    if has_systemd; then systemctl daemon-reload; fi
}

[ "$(id -u)" = 0 ] || fail "root installs it: sudo $0 $*"
case ${1:-} in
'') ;;
--remove) take_away; say "removed; the record stays in $data, the settings in /etc/rootcellar."; exit 0 ;;
--purge)
    take_away
    rm -rf --one-file-system "$data" /var/lib/private/rootcellar /etc/rootcellar
    userdel rootcellar 2>/dev/null || true
    say "removed with its record and its settings."
    exit 0
    ;;
*) sed -n '2,/^set/{/^set/d;s/^# \{0,1\}//;p;}' "$0" >&2; exit 2 ;;
esac

case $(uname -m) in
x86_64) machine=amd64 ;;
aarch64) machine=arm64 ;;
*) machine=$(uname -m) ;;
esac
[ "$machine" = "$arch" ] || fail "this archive is for $arch, and this machine is $machine. Nothing was changed."
[ ! -e /usr/lib/rootcellar ] || fail "the Debian package is installed here: upgrade that, or remove it first (its record stays). Nothing was changed."
glibc=$(getconf GNU_LIBC_VERSION 2>/dev/null | sed 's/^glibc //')
[ -n "$glibc" ] || fail "this system has no glibc (Alpine has another C library): take the container image. Nothing was changed."

first=1
[ ! -e "$prefix/lib/rootcellar" ] || first=
# Stopped before anything is looked at: its last writes are then in the record.
if has_systemd; then systemctl stop rootcellar.service 2>/dev/null || true; fi
if ! guard_record; then
    if has_systemd && [ -e "$units/rootcellar.service" ]; then systemctl start rootcellar.service || true; fi
    exit 1
fi

getent passwd rootcellar >/dev/null || useradd --system --user-group --no-create-home --home-dir "$data" --shell /usr/sbin/nologin rootcellar
[ -e "$data" ] || [ -L "$data" ] || install -d -m 0700 -o rootcellar -g rootcellar "$data"
if [ ! -e "$settings" ]; then
    install -d -m 0750 -o root -g rootcellar /etc/rootcellar
    install -m 0640 -o root -g rootcellar "$here/rootcellar.json" "$settings"
fi
[ -e "$data/rootcellar.json" ] || [ -L "$data/rootcellar.json" ] || ln -s "$settings" "$data/rootcellar.json"

mkdir -p "$prefix/lib" "$prefix/bin" "$prefix/share"
rm -rf "$prefix/lib/rootcellar.new"
cp -r "$here/lib/rootcellar" "$prefix/lib/rootcellar.new"
rm -rf "$prefix/lib/rootcellar" "$prefix/share/doc/rootcellar"
mv "$prefix/lib/rootcellar.new" "$prefix/lib/rootcellar"
cp -r "$here/share/." "$prefix/share"
install -m 755 "$here/bin/rootcellar" "$prefix/bin/rootcellar"
if ! has_systemd; then
    say "$version is installed. There is no systemd here: let your own supervisor run 'rootcellar run' as the user rootcellar."
    exit 0
fi
install -m 644 "$here/systemd/rootcellar.service" "$here/systemd/rootcellar.socket" "$units"
systemctl daemon-reload
systemctl enable --quiet rootcellar.service rootcellar.socket
systemctl start rootcellar.service || fail "installed, but the service does not start. Why: journalctl -u rootcellar"
say "$version runs."
if [ -n "$first" ]; then
    say "Its passphrase, shown once: sudo journalctl -u rootcellar | grep passphrase"
    say "Then open http://$(uname -n | cut -d. -f1).local (or port 8080 there) in the same network."
fi
