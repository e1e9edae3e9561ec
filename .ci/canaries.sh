#!/bin/sh
# Each of these must be found bad: a check that cannot fail is no check.
# $1 is a folder for what it builds.
set -eu
cd "$(dirname "$0")/.."
work=$1
go build -o "$work/soakwarden" ./cmd/soakwarden
must_be_bad() { # name, then the command: exit status 1 and nothing else
  name=$1; shift
  code=0
  "$@" >"$work/canary.log" 2>&1 || code=$?
  [ "$code" = 1 ] || { echo "canary $name ended with $code"; cat "$work/canary.log"; exit 1; }
  echo "canary $name: found bad"
}
must_be_bad "campaign without protection" "$work/soakwarden" campaign --unprotected --fault "relay welded" --runs 8 --seed 3
must_be_bad "changed journal" "$work/soakwarden" journal verify internal/journal/testdata/changed.journal
cat >"$work/bad.toml" <<'TOML'
name = "bench"
colour = "red"
TOML
must_be_bad "configuration with mistakes" "$work/soakwarden" check "$work/bad.toml"
sed 's/soakwarden_/soakwarden_never_/' configs/prometheus/soakwarden.rules.yml >"$work/soakwarden.rules.yml"
cp configs/prometheus/soakwarden.rules.test.yml "$work/"
must_be_bad "alert rules that watch nothing" promtool test rules "$work/soakwarden.rules.test.yml"
