#!/usr/bin/env bash
# Writes what a fuzzer starts from, made of the demos and the drawings of the tests: seeds.sh FOLDER
set -euo pipefail
root="$(cd "$(dirname "$0")/../.." && pwd)"
mkdir -p "$1/outline" "$1/case" "$1/gaps"
for file in "$root"/meshes/seal.* "$root"/meshes/lens.csv "$root"/tests/outline/files/*; do
    case "$file" in
        *.csv) kind='\0' ;;
        *.svg) kind='\1' ;;
        *.dxf) kind='\2' ;;
        *.png) kind='\3' ;;
        *.jpg) kind='\4' ;;
        *) continue ;;
    esac
    { printf "$kind"; cat "$file"; } > "$1/outline/$(basename "$file")"
done
cp "$root"/meshes/*.toml "$1/case/"
printf 'x_mm,y_mm,gap_um\n0,0,500\n200,0,510\n0,100,495\n200,100,505\n' > "$1/gaps/lattice.csv"
printf '# m\n0 0 5e-4\n0.2 0.01 5.1e-4\n0.1 0.1 5e-4\n0.05 0.03 4.9e-4\n' > "$1/gaps/scattered.csv"
