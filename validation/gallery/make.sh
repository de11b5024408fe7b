#!/bin/sh
# Draws every figure of every museum case and a page to look at them all:
#
#     validation/gallery/make.sh OUTPUT_FOLDER [PROGRAM]
#
# The program is built first if none is named. Open OUTPUT_FOLDER/index.html, and look at each picture for overlapping or cut-off
# lettering, wrong orientation, and legends that hide data.
set -eu
cd "$(dirname "$0")/../.."
folder=${1:?"name a folder for the pictures"}
program=${2:-target/release/twinplate}
if [ $# -lt 2 ]; then cargo build --release --quiet; fi
mkdir -p "$folder"
{
    echo '<!DOCTYPE html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Gallery</title>'
    echo '<style>body{font:1rem sans-serif;margin:1rem;background:#f2efe8;color:#16262e}img{background:#fff;max-width:100%;width:30rem;margin:.3rem}</style>'
    echo '<h1>Every figure of every museum case</h1>'
    for case in meshes/*.toml; do
        name=$(basename "$case" .toml)
        echo "<h2><a href=\"$name/report.html\">$name</a></h2>"
        status=0
        "$program" figure "$case" --output "$folder/$name" --force --quiet --even-lines "12 mm" \
            --formats svg,pdf,png --dpi 150 >&2 || status=$?
        # 4: drawn, though the wanted accuracy was missed
        [ "$status" -eq 0 ] || [ "$status" -eq 4 ] || { echo "$case: exit code $status" >&2; exit 1; }
        for picture in "$folder/$name"/figures/*.png; do
            shown=$(basename "$picture")
            echo "<img loading=\"lazy\" src=\"$name/figures/$shown\" alt=\"$name: $shown\" title=\"$shown\">"
        done
    done
    echo '</html>'
} > "$folder/index.html.part"
mv "$folder/index.html.part" "$folder/index.html"
echo "$folder/index.html"
