#!/usr/bin/env python3
"""Draws lens.csv: a symmetric lens of two circular arcs that meet in two sharp ends. Needs no packages.

Origin: drawn for the museum's open day; invented data.

    python3 meshes/draw_lens.py

For half length a and half thickness s each arc has the radius R = (a^2 + s^2)/(2 s) and turns by 2 asin(a/R), which is
also the angle between the arcs at an end.
"""
import math
import pathlib

HALF_LENGTH = 40.0  # mm of the drawing
HALF_THICKNESS = 12.0
CHORDS = 100  # per arc


def main():
    a, s = HALF_LENGTH, HALF_THICKNESS
    radius = (a * a + s * s) / (2 * s)
    half_turn = math.asin(a / radius)
    points = []
    for side in (-1, 1):  # lower arc from the left end to the right one, upper arc back
        for k in range(CHORDS):
            angle = half_turn * (2 * k / CHORDS - 1)
            along = radius * math.sin(angle)
            out = radius * math.cos(angle) - (radius - s)
            points.append((-side * along, side * out))
    rows = "\n".join(f"{x:.6f},{round(y, 6) + 0.0:.6f}" for x, y in points)
    head = "# Origin: drawn for the museum's open day; invented data. Made by draw_lens.py."
    (pathlib.Path(__file__).parent / "lens.csv").write_text(f"{head}\nx,y\n{rows}\n")
    sag = radius * (1 - math.cos(half_turn / CHORDS))
    print(f"radius {radius:.3f}, ends {math.degrees(2 * half_turn):.1f} deg, chords {sag:.4f} off the arcs")


if __name__ == "__main__":
    main()
