#!/bin/sh
# Runs every fuzz target for the time given (default 5s). A target that found
# an input fails; one that only overran its time (a slow target at the end of it,
# which the fuzzer calls "context deadline exceeded") does not. Left alone the
# fuzzer spends a minute on making each interesting input shorter, and in a short
# run tries nothing else.
set -eu
cd "$(dirname "$0")/.."
said=$(mktemp)
trap 'rm -f "$said"' EXIT
for file in $(git ls-files '*_test.go' | xargs grep -l '^func Fuzz'); do
  dir=$(dirname "$file")
  for target in $(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\)(.*/\1/p' "$file"); do
    echo "-- $dir $target"
    if ! go test -run '^$' -fuzz "^$target\$" -fuzztime "${1:-5s}" -fuzzminimizetime 10x "./$dir" >"$said" 2>&1; then
      if ! grep -q 'context deadline exceeded' "$said" || grep -q 'Failing input' "$said"; then
        cat "$said"
        exit 1
      fi
    fi
    tail -n 3 "$said" | head -n 1
  done
done
