#!/bin/sh
# Draws every figure of every museum case, in colour over the page and in grey over one column, the maps of the design sheet, the ladder,
# the preview and the placing template, and a page to look at them all:
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

# 4: drawn, though the wanted accuracy was missed
run() {
    status=0
    "$program" "$@" --force --quiet >&2 || status=$?
    [ "$status" -eq 0 ] || [ "$status" -eq 4 ] || { echo "$*: exit code $status" >&2; exit 1; }
}

show() {
    for picture in "$folder/$1"/*."$2"; do
        shown=$(basename "$picture")
        echo "<img loading=\"lazy\" src=\"$1/$shown\" alt=\"$1: $shown\" title=\"$shown\">"
    done
}

{
    echo '<!DOCTYPE html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Gallery</title>'
    echo '<style>body{font:1rem sans-serif;margin:1rem;background:#f2efe8;color:#16262e}img{background:#fff;max-width:100%;width:30rem;margin:.3rem}</style>'
    echo '<h1>Every figure of every museum case</h1>'
    for case in meshes/*.toml; do
        name=$(basename "$case" .toml)
        echo "<h2><a href=\"$name/report.html\">$name</a></h2>"
        run figure "$case" --output "$folder/$name" --even-lines "12 mm" --formats svg,pdf,png --dpi 150
        run rig "$case" --output "$folder/$name" --formats png --dpi 150
        run converge "$case" --levels 3 --figures --output "$folder/$name" --formats png --dpi 150
        show "$name/figures" png
        echo '<h3>In grey, one column wide, with rulers and names</h3>'
        run figure "$case" --output "$folder/$name-grey" --grey --column single --axes --names --formats png --dpi 150
        run rig "$case" --output "$folder/$name-grey" --grey --column single --formats png --dpi 150
        show "$name-grey/figures" png
        echo '<h3>For the workshop</h3>'
        "$program" outline "$case" --output "$folder/$name-workshop" --cut "$folder/$name-workshop" --quiet >&2
        show "$name-workshop" svg
    done
    echo '</html>'
} > "$folder/index.html.part"
mv "$folder/index.html.part" "$folder/index.html"
echo "$folder/index.html"
