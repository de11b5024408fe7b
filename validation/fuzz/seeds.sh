#!/usr/bin/env bash
# Writes what a fuzzer starts from, made of the demos and the drawings of the tests: seeds.sh FOLDER
set -euo pipefail
root="$(cd "$(dirname "$0")/../.." && pwd)"
mkdir -p "$1"/{lists,svg,dxf,pictures,gaps,case,plan}
for file in "$root"/meshes/seal.* "$root"/meshes/lens.csv "$root"/tests/outline/files/*; do
    name="$(basename "$file")"
    case "$file" in
        *.csv) cp "$file" "$1/lists/$name" ;;
        *.svg) cp "$file" "$1/svg/$name" ;;
        *.dxf) cp "$file" "$1/dxf/$name" ;;
        *.png) { printf '\0'; cat "$file"; } > "$1/pictures/$name" ;;
        *.jpg) { printf '\1'; cat "$file"; } > "$1/pictures/$name" ;;
    esac
done
cp "$root"/meshes/*.toml "$1/case/"
printf 'x_mm,y_mm,gap_um\n0,0,500\n200,0,510\n0,100,495\n200,100,505\n' > "$1/gaps/lattice.csv"
printf '# m\n0 0 5e-4\n0.2 0.01 5.1e-4\n0.1 0.1 5e-4\n0.05 0.03 4.9e-4\n' > "$1/gaps/scattered.csv"
# two posts, an ellipse, a triangle, a smooth outline, a drop
printf '\000\100\100\040....\000\200\100\040....' > "$1/plan/posts"
printf '\001\100\100\040\020\030..\002\200\100\240\100\200\060.\003\300\040\340\040\300\100.\004\100\040\060\020\000..' > "$1/plan/shapes"
