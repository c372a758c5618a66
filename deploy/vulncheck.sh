#!/bin/sh
# Looks for known vulnerabilities that the program can reach. Where neither the vulnerability service nor the module with
# its reports can be had, it says so and succeeds: being offline is no defect of the source.
set -eu
cd "$(dirname "$0")/.."
check="go tool -modfile=deploy/tools.mod govulncheck"
if module=$(go mod download -json golang.org/x/vulndb@latest 2>/dev/null); then
	dir=$(printf '%s\n' "$module" | sed -n 's/^[[:space:]]*"Dir": "\(.*\)",$/\1/p')
	db=$(mktemp -d)
	trap 'rm -rf "$db"' EXIT
	go run ./deploy/vulndb "$dir" "$db"
	$check -db "file://$db" ./...
else
	echo "vulnerabilities were not checked: the reports could not be downloaded" >&2
fi
