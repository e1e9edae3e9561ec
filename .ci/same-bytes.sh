#!/bin/sh
# One scenario gives the same bytes on amd64, on amd64 without fused
# multiply-add, on GOAMD64=v3, on arm64 and on armv6 (the last two emulated).
# $1 is a folder for what it builds.
set -eu
cd "$(dirname "$0")/.."
work=$1
scenario=testdata/scenarios/relay-welded.toml
story() { # name, then the command that runs the program
  name=$1; shift
  "$@" simulate "$scenario" --narrate --csv "$work/$name.csv" --json >"$work/$name.txt" || [ $? = 1 ]
  sed -i '/"wall_seconds"/d' "$work/$name.txt"
  sha256sum <"$work/$name.csv"; sha256sum <"$work/$name.txt"
}
export CGO_ENABLED=0
GOARCH=amd64 go build -o "$work/amd64" ./cmd/soakwarden
GOARCH=amd64 GOAMD64=v3 go build -o "$work/v3" ./cmd/soakwarden
GOARCH=arm64 go build -o "$work/arm64" ./cmd/soakwarden
GOARCH=arm GOARM=6 go build -o "$work/arm" ./cmd/soakwarden
story amd64 "$work/amd64" >"$work/want"
GODEBUG=cpu.fma=off,cpu.avx=off story nofma "$work/amd64" >"$work/got-nofma"
story v3 "$work/v3" >"$work/got-v3"
story arm64 qemu-aarch64 "$work/arm64" >"$work/got-arm64"
story arm qemu-arm "$work/arm" >"$work/got-arm"
for other in nofma v3 arm64 arm; do
  cmp "$work/want" "$work/got-$other"
  echo "$other: the same bytes"
done

# Records made here are decided again on the boards' processors, and every single
# decision must come out the same: all scenarios but the longest, campaign runs
# of one, two and three probes with a fault each, and a demonstration.
records=$work/records
mkdir "$records"
"$work/amd64" demo --speed 300 --listen 127.0.0.1:18461 --journal "$records/demo.journal" >"$work/demo.log" 2>&1 &
demo=$!
"$work/amd64" campaign --runs 15 --seed 4244 --journals "$records" >/dev/null 2>&1
for file in testdata/scenarios/*.toml; do
  name=$(basename "$file" .toml)
  [ "$name" != week-bench ] || continue
  "$work/amd64" simulate "$file" --journal "$records/$name.journal" --json >/dev/null || [ $? = 1 ]
done
sleep 5
kill $demo
wait $demo
again() { # architecture, emulator
  for record in "$records"/*.journal; do
    "$2" "$work/$1" journal verify --replay "$record" >"$work/replay-$1" || { cat "$work/replay-$1"; return 1; }
    # Compared must be every decision of every station in every life.
    awk '/decisions compared/ { n++; if ($4 != $6 || $6 == 0 || $9 != 0) bad = 1 } END { exit bad || !n }' "$work/replay-$1" ||
      { echo "$record on $1:"; cat "$work/replay-$1"; return 1; }
  done
  echo "$1: $(ls "$records" | grep -c journal$) records decided the same"
}
again arm64 qemu-aarch64 &
arm64=$!
again arm qemu-arm
wait $arm64
