#!/bin/sh
# Makes the results from which the tables of SAFETY.md and their figure are
# written. One processor, about half an hour; each command ends within five
# minutes. The same seeds give the same bytes but for wall_seconds.
#
#   sh testdata/campaign/make.sh [name ...]
#
# With names (singles, two-probes, plain, pairs, free, swarm) only those.
set -eu
cd "$(dirname "$0")/../.."
program=$(mktemp)
trap 'rm -f "$program"' EXIT
go build -pgo=cmd/soakwarden/campaign.pgo -o "$program" ./cmd/soakwarden
campaign() { # name of the result, then flags; exit status 1 means that a judge objects
  result=testdata/campaign/$1.json; shift
  code=0
  "$program" campaign "$@" --workers 1 --json >"$result" || code=$?
  [ "$code" -le 1 ] || exit "$code"
  echo "$result: $code"
}
wanted() { [ "$names" = "" ] || case " $names " in *" $1 "*) ;; *) return 1 ;; esac; }
names=$*
if wanted singles; then campaign singles --runs 10000 --seed 1 --longest 390s; fi
if wanted two-probes; then campaign two-probes --runs 255 --seed 1 --probes two; fi
if wanted plain; then campaign plain --runs 255 --seed 1 --probes two --plain; fi
# Every pair on each tub, in pieces.
if wanted pairs; then
  campaign pairs-0 --runs 1710 --seed 1 --pairs
  campaign pairs-1 --runs 1921 --seed 1 --first 1710 --pairs
fi
if wanted free; then campaign free --runs 83 --seed 1 --no-faults; fi
if wanted swarm; then campaign swarm --runs 400 --seed 1 --swarm; fi
go test ./internal/house -run 'Campaign|Figure' -update
