#!/bin/sh
# Boots a stock arm64 kernel on an emulated Raspberry Pi 3B and lets boot drive
# relays there. Wants qemu-system-aarch64, cpio and a kernel package's folder:
#   run.sh KERNEL DEVICE_TREE
# where KERNEL is vmlinuz of linux-image-*-arm64 and DEVICE_TREE its
# broadcom/bcm2837-rpi-3-b.dtb. Exit status 0: every check held.
set -eu
kernel=$1 tree=$2
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
(cd "$here" && CGO_ENABLED=0 GOOS=linux GOARCH=arm64 go build -trimpath -ldflags '-s -w' -o "$work/init" .)
(cd "$work" && echo init | cpio --quiet -o -H newc | gzip -1 >initramfs)
# The stock kernel cannot switch this board off: the emulator is ended when the
# last line came.
timeout 180 qemu-system-aarch64 -M raspi3b -smp 4 -m 1G -display none -no-reboot \
  -kernel "$kernel" -dtb "$tree" -initrd "$work/initramfs" \
  -append "console=ttyAMA0 rdinit=/init quiet panic=-1" \
  -serial "file:$work/console" &
board=$!
while kill -0 "$board" 2>/dev/null && ! grep -aqs '^BOOT end' "$work/console"; do sleep 0.5; done
kill "$board" 2>/dev/null || true
wait "$board" || true
tr -d '\r' <"$work/console" | grep -a '^BOOT' || { tail -c 2000 "$work/console"; exit 1; }
tr -d '\r' <"$work/console" | grep -aq '^BOOT end, 0 failures'
