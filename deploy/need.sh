#!/bin/sh
# Installs what is missing of: postgresql chromium fonts gcc. Says nothing when all is there.
set -eu
missing=
for what in "$@"; do
	case $what in
	postgresql)
		[ -n "${PG_BINDIR:-}" ] && continue
		for p in /usr/lib/postgresql/*/bin/postgres /usr/pgsql-*/bin/postgres /opt/homebrew/opt/postgresql*/bin/postgres \
			/usr/local/opt/postgresql*/bin/postgres; do
			[ -x "$p" ] && continue 2
		done
		command -v postgres >/dev/null || missing="$missing postgresql"
		;;
	chromium)
		command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null ||
			missing="$missing chromium"
		;;
	fonts)
		[ -d /usr/share/fonts/truetype/dejavu ] || [ "$(uname)" != Linux ] || missing="$missing fonts-dejavu-core"
		;;
	gcc) # the race detector links with it
		command -v gcc >/dev/null || command -v clang >/dev/null || missing="$missing gcc libc6-dev"
		;;
	*)
		echo "need.sh: $what is not known" >&2
		exit 2
		;;
	esac
done
[ -n "$missing" ] || exit 0
if ! command -v apt-get >/dev/null; then
	echo "please install:$missing" >&2
	exit 1
fi
sudo=
[ "$(id -u)" = 0 ] || sudo=sudo
echo "installing:$missing" >&2
export DEBIAN_FRONTEND=noninteractive
$sudo apt-get update -q >&2
# shellcheck disable=SC2086 # a list of words is meant
$sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $missing >&2
