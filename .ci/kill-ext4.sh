#!/bin/sh
# A program that is killed while it writes, on an ext4 file system of its own.
# Needs root and a loop device; says so and ends well where there is none.
set -eu
cd "$(dirname "$0")/.."
if [ "$(id -u)" != 0 ] || ! command -v mkfs.ext4 >/dev/null || ! losetup -f >/dev/null 2>&1; then
  echo "no root, no mkfs.ext4 or no loop device: the plain folder of go test stands for it"
  exit 0
fi
place=$(mktemp -d)
mounted=no
end() {
  [ "$mounted" = no ] || umount "$place/card"
  rm -rf "$place"
}
trap end EXIT
truncate -s 64M "$place/image"
mkfs.ext4 -q "$place/image"
mkdir "$place/card"
if ! mount -o loop "$place/image" "$place/card"; then
  echo "mounting is not allowed here: the plain folder of go test stands for it"
  exit 0
fi
mounted=yes
SOAKWARDEN_KILL_DIR="$place/card" go test -count=1 -run '^TestKilledProcess$' -v ./internal/journal
