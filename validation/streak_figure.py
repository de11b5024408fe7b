"""Opens fields.vtu of a results folder with VTK's Python package and draws the streak figure: streamlines of equal flow, as
iso-lines of the stream function, over the obstacles. It shows that a general viewer gets everything it needs from the files.

    python3 -m venv /tmp/vtk && /tmp/vtk/bin/pip install vtk numpy
    /tmp/vtk/bin/python validation/streak_figure.py results/two_piers streaks.png [COUNT]

It fails if VTK complains, if a line does not run from the inlet to the outlet, or if the lines differ from streaklines.vtp, where that
was made without inertia, by more than a hundredth of the cell's width.
"""

import sys
from pathlib import Path

import numpy as np
import vtk
from vtk.util.numpy_support import vtk_to_numpy


def read(reader, path, complaints):
    reader.AddObserver("ErrorEvent", lambda *event: complaints.append(str(path)))
    reader.SetFileName(str(path))
    reader.Update()
    return reader.GetOutput()


def levels(stream, count):
    """The middle of each of so many equal shares of the flow."""
    flow = stream.max() - stream.min()
    return stream.min() + (np.arange(count) + 0.5) / count * flow


def iso_line(grid, value):
    grid.GetPointData().SetActiveScalars("stream_function")
    contour = vtk.vtkContourFilter()
    contour.SetInputData(grid)
    contour.SetValue(0, value)
    contour.Update()
    return contour.GetOutput()


def joined(lines):
    append = vtk.vtkAppendPolyData()
    for line in lines:
        append.AddInputData(line)
    append.Update()
    return append.GetOutput()


def places(lines):
    return [vtk_to_numpy(lines.GetCell(k).GetPoints().GetData())[:, :2].copy() for k in range(lines.GetNumberOfCells())]


def pieces(line):
    connected = vtk.vtkPolyDataConnectivityFilter()
    connected.SetInputData(line)
    connected.SetExtractionModeToAllRegions()
    connected.Update()
    return connected.GetNumberOfExtractedRegions()


def draw(grid, lines, outlines, path):
    renderer = vtk.vtkRenderer()
    renderer.SetBackground(1, 1, 1)
    for data, colour, width in ((lines, (0.06, 0.38, 0.45), 2), (outlines, (0.09, 0.15, 0.18), 3)):
        mapper = vtk.vtkPolyDataMapper()
        mapper.SetInputData(data)
        mapper.ScalarVisibilityOff()
        actor = vtk.vtkActor()
        actor.SetMapper(mapper)
        actor.GetProperty().SetColor(colour)
        actor.GetProperty().SetLineWidth(width)
        renderer.AddActor(actor)
    left, right, low, high, *_ = grid.GetBounds()
    window = vtk.vtkRenderWindow()
    window.OffScreenRenderingOn()
    window.SetMultiSamples(8)
    window.SetSize(1400, max(100, round(1400 * (high - low) / (right - left))))
    window.AddRenderer(renderer)
    camera = renderer.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetFocalPoint((left + right) / 2, (low + high) / 2, 0)
    camera.SetPosition((left + right) / 2, (low + high) / 2, 1)
    camera.SetParallelScale((high - low) / 2)
    window.Render()
    picture = vtk.vtkWindowToImageFilter()
    picture.SetInput(window)
    writer = vtk.vtkPNGWriter()
    writer.SetFileName(str(path))
    writer.SetInputConnection(picture.GetOutputPort())
    writer.Write()


def main(folder, picture, count=24):
    folder, complaints = Path(folder), []
    grid = read(vtk.vtkXMLUnstructuredGridReader(), folder / "fields.vtu", complaints)
    outlines = read(vtk.vtkXMLPolyDataReader(), folder / "obstacles.vtp", complaints)
    own = read(vtk.vtkXMLPolyDataReader(), folder / "streaklines.vtp", complaints)
    stream = vtk_to_numpy(grid.GetPointData().GetArray("stream_function"))
    lines = [iso_line(grid, value) for value in levels(stream, count)]
    draw(grid, joined(lines), outlines, picture)

    left, right, low, high, *_ = grid.GetBounds()
    points = [vtk_to_numpy(line.GetPoints().GetData())[:, :2] for line in lines]
    whole = [
        p for line, p in zip(lines, points) if pieces(line) == 1 and abs(np.ptp(p[:, 0]) - (right - left)) < 1e-6 * (right - left)
    ]
    print(f"{count} lines of equal flow, {len(whole)} of one piece from inlet to outlet; picture {picture}")
    faults = complaints + ([] if len(whole) == count else [f"{count - len(whole)} lines do not reach from inlet to outlet"])
    if own.GetNumberOfCells() == count:
        ends = [sorted(float(p[np.argmax(p[:, 0]), 1]) for p in some) for some in (whole, places(own))]
        apart = max(abs(a - b) for a, b in zip(*ends))
        print(f"at the outlet they stand within {1e3 * apart:.3f} mm of those of streaklines.vtp")
        if apart > 0.01 * (high - low):
            faults.append("the lines differ from those of streaklines.vtp")
    for fault in faults:
        print("fault:", fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3], *(int(n) for n in sys.argv[3:4])))
