#!/bin/sh
# Runs every fuzz target for the time given (default 5s).
set -eu
cd "$(dirname "$0")/.."
for file in $(git ls-files '*_test.go' | xargs grep -l '^func Fuzz'); do
  dir=$(dirname "$file")
  for target in $(sed -n 's/^func \(Fuzz[A-Za-z0-9_]*\)(.*/\1/p' "$file"); do
    echo "-- $dir $target"
    go test -run '^$' -fuzz "^$target\$" -fuzztime "${1:-5s}" "./$dir" | tail -n 1
  done
done
