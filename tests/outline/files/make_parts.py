#!/usr/bin/env python3
"""Writes parts.dxf and older.dxf with a general-purpose DXF library, and disc_*.png and .jpg with one for pictures, as someone else's
program would.

    python3 -m venv /tmp/parts && /tmp/parts/bin/pip install ezdxf numpy pillow
    /tmp/parts/bin/python tests/outline/files/make_parts.py

Every layer is one part with a known area; the test that reads the files derives them.
"""
import math
import pathlib

import ezdxf
import numpy
from PIL import Image
from ezdxf.math import BSpline, Vec3, rational_bspline_from_arc

HERE = pathlib.Path(__file__).parent


def parts(space, block):
    on = lambda layer: {"layer": layer}
    # A circle of radius 25 as two half circles.
    space.add_lwpolyline([(75, 50, 1), (125, 50, 1)], format="xyb", close=True, dxfattribs=on("bulges"))
    # The same as a rational spline.
    circle = rational_bspline_from_arc(center=(100, 50), radius=25, start_angle=0, end_angle=360, segments=4)
    space.add_spline(dxfattribs=on("rational")).apply_construction_tool(circle)
    # The same as four arcs, not in order.
    for start in (90, 270, 0, 180):
        space.add_arc((100, 50), 25, start, start + 90, dxfattribs=on("arcs"))
    # A slot: two lines that run against each other and two half circles of radius 10, 40 apart.
    space.add_line((0, -10), (40, -10), dxfattribs=on("slot"))
    space.add_line((0, 10), (40, 10), dxfattribs=on("slot"))
    space.add_arc((40, 0), 10, -90, 90, dxfattribs=on("slot"))
    space.add_arc((0, 0), 10, 90, 270, dxfattribs=on("slot"))
    # Semi-axes sqrt 1000 and half of it.
    space.add_ellipse((200, 0), major_axis=(30, 10), ratio=0.5, dxfattribs=on("ellipse"))
    # A ring, with a text and a point beside it.
    space.add_circle((0, 100), 20, dxfattribs=on("ring"))
    space.add_circle((1, 100), 8, dxfattribs=on("ring"))
    space.add_text("caisson", dxfattribs=on("ring"))
    space.add_point((0, 0), dxfattribs=on("ring"))
    # A piece of four by four, drawn twice as wide, turned, in three columns and two rows.
    block.add_lwpolyline([(1, 1), (5, 1), (5, 5), (1, 5)], close=True)
    space.add_blockref("pile", (300, 20), dxfattribs={
        "layer": "piles", "xscale": 2, "rotation": 30, "column_count": 3, "row_count": 2,
        "column_spacing": 20, "row_spacing": 15})
    # A uniform closed cubic spline through a hexagon's corners as control points; exact in cubics.
    corners = [Vec3(20 * math.cos(k * math.pi / 3), 20 * math.sin(k * math.pi / 3)) for k in range(6)]
    space.add_spline(dxfattribs=on("cubic")).apply_construction_tool(
        BSpline(corners + corners[:3], order=4, knots=list(range(13))))
    # A quarter of a disc seen from below: it appears at negative x.
    space.add_lwpolyline([(10, 0, math.tan(math.pi / 8)), (0, 10, 0), (0, 0, 0)], format="xyb", close=True,
                         dxfattribs={"layer": "below", "extrusion": (0, 0, -1)})
    # An angle that does not close.
    space.add_line((0, 0), (5, 0), dxfattribs=on("open"))
    space.add_line((5, 0), (5, 5), dxfattribs=on("open"))


def pictures():
    """A dark disc of radius 18 about (24.3, 23.6) on 48 x 48 pixels, y down, in the kinds of pictures there are."""
    steps = (numpy.arange(48 * 16) + 0.5) / 16
    inside = numpy.hypot(steps[None, :] - 24.3, steps[:, None] - 23.6) < 18
    share = inside.reshape(48, 16, 48, 16).mean(axis=(1, 3))
    byte = lambda values: numpy.rint(values).astype(numpy.uint8)
    grey = Image.fromarray(byte(240 - 210 * share))
    rgb = Image.merge("RGB", [grey, grey, grey])
    rgb.convert("CMYK").save(HERE / "disc_cmyk.jpg", quality=95)
    grey.save(HERE / "disc_grey.jpg", quality=95)
    grey.save(HERE / "disc_progressive.jpg", quality=95, progressive=True)
    rgb.save(HERE / "disc_colour.jpg", quality=95, subsampling=2)
    Image.fromarray(numpy.rint(61680 - 53970 * share).astype(numpy.uint16)).save(HERE / "disc_16.png")
    palette = grey.quantize(32)
    palette.save(HERE / "disc_palette.png")
    white = Image.fromarray(byte(0 * share + 255))
    Image.merge("LA", [white, Image.fromarray(byte(255 * share))]).save(HERE / "disc_alpha.png")
    Image.fromarray(share > 0.5).save(HERE / "disc_1.png")


def main():
    pictures()
    drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
    parts(drawing.modelspace(), drawing.blocks.new("pile", base_point=(3, 3)))
    drawing.saveas(HERE / "parts.dxf")
    older = ezdxf.new("R12")
    older.header["$INSUNITS"] = 1
    line = older.modelspace().add_polyline2d([(0, 0, 1), (2, 0, 0), (2, 1, 0), (0, 1, 0)], format="xyb", close=True)
    line.dxf.layer = "boat"
    older.saveas(HERE / "older.dxf")


if __name__ == "__main__":
    main()
