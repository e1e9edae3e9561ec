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

# A record made here is decided again on the boards' processors: every decision
# must come out the same.
"$work/amd64" demo --speed 300 --listen 127.0.0.1:18461 --journal "$work/demo.journal" >"$work/demo.log" 2>&1 &
demo=$!
sleep 15
kill $demo
wait $demo
for arch in arm64:qemu-aarch64 arm:qemu-arm; do
  "${arch#*:}" "$work/${arch%%:*}" journal verify --replay "$work/demo.journal" | tee "$work/replay"
  grep -q ' 0 differ' "$work/replay"
  if grep -qE '[1-9][0-9]* differ' "$work/replay"; then exit 1; fi
done
