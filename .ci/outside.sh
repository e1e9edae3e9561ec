#!/bin/sh
# What other programs say of ours: Prometheus of the metrics and the rules, the
# service manager of the unit. $1 is a folder for what it builds.
set -eu
cd "$(dirname "$0")/.."
work=$1
go build -o "$work/soakwarden" ./cmd/soakwarden

"$work/soakwarden" demo --listen 127.0.0.1:18460 --speed 60 >"$work/demo.log" 2>&1 &
demo=$!
trap 'kill $demo 2>/dev/null || true' EXIT
n=0
until curl -fsS http://127.0.0.1:18460/-/ready >/dev/null 2>&1; do
  n=$((n + 1))
  [ $n -lt 60 ] || { cat "$work/demo.log"; exit 1; }
  sleep 0.5
done
curl -fsS http://127.0.0.1:18460/metrics >"$work/metrics"
promtool check metrics <"$work/metrics"
curl -fsS http://127.0.0.1:18460/-/healthy
curl -fsS http://127.0.0.1:18460/ | grep -q 'INVENTED'
kill $demo
wait $demo
trap - EXIT

promtool check rules configs/prometheus/*.rules.yml
(cd configs/prometheus && promtool test rules ./*.rules.test.yml)

if command -v systemd-analyze >/dev/null; then
  # The unit names a binary that is not installed here; everything else counts.
  sed "s#/usr/local/bin/soakwarden#$work/soakwarden#" configs/soakwarden.service >"$work/soakwarden.service"
  systemd-analyze verify --man=no "$work/soakwarden.service"
  systemd-analyze security --offline=true --threshold=45 "$work/soakwarden.service" | tail -n 1
fi
