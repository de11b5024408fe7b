"""Makes the two font files of the figures from Lato 2.0 (SIL Open Font Licence 1.1): Latin, Greek, Cyrillic and the signs that
formulas and units need, without kerning and hinting, under a name of its own as the licence asks.

    python subset.py FOLDER_WITH_LATO OUTPUT_FOLDER        needs fonttools
"""
import sys
from fontTools import subset
from fontTools.ttLib import TTFont

RANGES = [(0x20, 0x7E), (0xA0, 0x17F), (0x386, 0x3CE), (0x3D1, 0x3D1), (0x3D5, 0x3D5), (0x400, 0x45F), (0x1E80, 0x1E85)]
SIGNS = "‐‑‒–—‘’‚“”„†•…‰′″‹›⁰ⁱ⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ⁿ₀₁₂₃₄₅₆₇₈₉₊₋€℃ΩΔ∂∆∏∑−∕∙√∞∫≈≠≤≥←↑→↓◊\u2009\u200a\u202f"

def main(source, target):
    wanted = [c for a, b in RANGES for c in range(a, b + 1)] + [ord(c) for c in SIGNS]
    for weight in ("Regular", "Bold"):
        options = subset.Options(layout_features=[], hinting=False, name_IDs=[0, 13, 14], notdef_outline=True, drop_tables=["GPOS", "GSUB", "GDEF", "kern", "DSIG"])
        font = TTFont(f"{source}/Lato-{weight}.ttf", recalcTimestamp=False)
        worker = subset.Subsetter(options)
        worker.populate(unicodes=wanted)
        worker.subset(font)
        names = font["name"]
        family = "Harbour Sketch"
        for id, text in ((1, family), (2, weight), (3, f"{family} {weight} 1"), (4, f"{family} {weight}"), (5, "Version 1.0"), (6, f"HarbourSketch-{weight}")):
            names.setName(text, id, 3, 1, 0x409)
        font.save(f"{target}/figure-{weight.lower()}.ttf")
        missing = [chr(c) for c in wanted if c not in font.getBestCmap()]
        print(weight, len(font.getGlyphOrder()), "glyphs, not in the source:", " ".join(missing))

main(*sys.argv[1:])
