#!/bin/sh
# Makes the results from which the tables of SAFETY.md and their figure are
# written: on two processors five minutes, and more than half an hour for the
# 300 tub-years without a fault (at most one false trip in a hundred can be shown
# with no less), which come in pieces so that an end loses one of them. The same
# seeds give the same bytes but for wall_seconds.
#
#   sh testdata/campaign/make.sh [name ...]
#
# With names (singles, two-probes, plain, pairs, free, swarm) only those.
set -eu
cd "$(dirname "$0")/../.."
program=$(mktemp)
trap 'rm -f "$program"' EXIT
go build -o "$program" ./cmd/soakwarden
campaign() { # name of the result, then flags; exit status 1 means that a judge objects
  result=testdata/campaign/$1.json; shift
  code=0
  "$program" campaign "$@" --json >"$result" || code=$?
  [ "$code" -le 1 ] || exit "$code"
  echo "$result: $code"
}
wanted() { [ "$names" = "" ] || case " $names " in *" $1 "*) ;; *) return 1 ;; esac; }
names=$*
if wanted singles; then campaign singles --runs 10000 --seed 1; fi
if wanted two-probes; then campaign two-probes --runs 255 --seed 1 --probes two; fi
if wanted plain; then campaign plain --runs 255 --seed 1 --probes two --plain; fi
# Every pair on each of fifty tubs.
if wanted pairs; then
  campaign pairs-0 --runs 4025 --seed 1 --pairs
  campaign pairs-1 --runs 4025 --seed 1 --first 4025 --pairs
fi
if wanted free; then
  part=0
  while [ $part -lt 30 ]; do
    campaign free-$part --runs 522 --seed 1 --first $((part * 522)) --no-faults
    part=$((part + 1))
  done
fi
if wanted swarm; then campaign swarm --runs 400 --seed 1 --swarm; fi
go test ./internal/house -run 'Campaign|Figure' -update
