#!/usr/bin/env python3
"""Reads every .vtu, .vtp and .pvd of a folder with VTK itself, and every .vtu with meshio: neither shares code with the writer.
(meshio knows no .vtp at all.)

Scratch environment:
    python3 -m venv /tmp/vtk && /tmp/vtk/bin/pip install vtk numpy meshio
    /tmp/vtk/bin/python validation/read_vtk.py FOLDER

Prints points, cells, and each array with its components, range and unit. Exit code 1 if VTK says anything at all, a
value is not finite, an array has no unit, a file of a series is missing or meshio reads other points, cells, arrays or texts; 2 if the folder holds no such file.
"""
import pathlib
import sys
import xml.etree.ElementTree

import meshio
import numpy
import vtk
from vtk.util.numpy_support import vtk_to_numpy

READERS = {".vtu": vtk.vtkXMLUnstructuredGridReader, ".vtp": vtk.vtkXMLPolyDataReader}


def listen():
    """Collects what VTK would print."""
    messages = []
    window = vtk.vtkOutputWindow()
    for event in ("ErrorEvent", "WarningEvent"):
        def note(_object, _event, text=""):
            messages.append(text.strip())
        note.CallDataType = vtk.VTK_STRING
        window.AddObserver(event, note)
    vtk.vtkLogger.SetStderrVerbosity(vtk.vtkLogger.VERBOSITY_OFF)
    window.SetDisplayModeToNever()
    vtk.vtkOutputWindow.SetInstance(window)
    return messages


def text_of(data, name):
    """A text of the field data: an array of the codes of its letters."""
    codes = data.GetFieldData().GetArray(name)
    return "" if codes is None else bytes(vtk_to_numpy(codes)).decode()


def units_of(data):
    return dict(line.split(" ", 1) for line in text_of(data, "units").splitlines())


def read_again(path, data):
    """Reads a grid with meshio; returns in what the two differ."""
    try:
        mesh = meshio.read(path)
    except (SystemExit, Exception) as error:
        return [f"meshio: {error!r}"]
    faults = []
    if not numpy.array_equal(mesh.points, vtk_to_numpy(data.GetPoints().GetData())):
        faults.append("meshio: other points")
    if sum(len(block.data) for block in mesh.cells) != data.GetNumberOfCells():
        faults.append("meshio: other cells")
    for name, text in ((name, text_of(data, name)) for name in ("units", "meaning", "combined_sha256")):
        if bytes(mesh.field_data.get(name, numpy.zeros(0, numpy.uint8))).decode() != text:
            faults.append(f"meshio: another text {name}")
    for group, arrays in ((data.GetPointData(), mesh.point_data), (data.GetCellData(), mesh.cell_data)):
        for i in range(group.GetNumberOfArrays()):
            name = group.GetArray(i).GetName()
            found = arrays.get(name, [])
            found = numpy.concatenate(found) if isinstance(found, list) and found else numpy.asarray(found)
            if not numpy.array_equal(found, vtk_to_numpy(group.GetArray(i))):
                faults.append(f"meshio: another array {name}")
    return faults


def show_array(kind, array, unit):
    values = vtk_to_numpy(array)
    finite = bool(numpy.isfinite(values).all())
    low, high = (values.min(), values.max()) if values.size else (float("nan"),) * 2
    print(f"  {kind:5} {array.GetName():24} {array.GetDataTypeAsString():14} x{array.GetNumberOfComponents()}"
          f"  [{low:.9g}, {high:.9g}] {unit or ''}{'' if finite else '  NOT FINITE'}")
    return finite


def read(path, messages):
    """Prints one file; returns its faults."""
    before = len(messages)
    reader = READERS[path.suffix]()
    for event in ("ErrorEvent", "WarningEvent"):
        reader.AddObserver(event, lambda *_: messages.append(f"{path.name}: {event}"))
    reader.SetFileName(str(path))
    reader.Update()
    data = reader.GetOutput()
    units = units_of(data)
    print(f"{path.name}: {data.GetNumberOfPoints()} points, {data.GetNumberOfCells()} cells")
    faults = []
    if data.GetPoints() is not None and not show_array("place", data.GetPoints().GetData(), "m"):
        faults.append("points that are not finite")
    for kind, group in (("point", data.GetPointData()), ("cell", data.GetCellData())):
        for i in range(group.GetNumberOfArrays()):
            array = group.GetArray(i)
            if array.GetName() not in units:
                faults.append(f"{array.GetName()} has no unit")
            if not show_array(kind, array, units.get(array.GetName())):
                faults.append(f"{array.GetName()} is not finite")
    if not text_of(data, "combined_sha256"):
        faults.append("no hash of its case")
    # LZ4 is unknown to meshio
    if path.suffix == ".vtu" and b"vtkLZ4DataCompressor" not in path.read_bytes()[:400]:
        faults += read_again(path, data)
    time = data.GetFieldData().GetArray("TimeValue")
    if time is not None:
        print(f"  time  {time.GetValue(0)!r}")
    print("  units " + "; ".join(f"{name}: {unit}" for name, unit in units.items()))
    return [f"{path.name}: {fault}" for fault in faults] + messages[before:]


def series(path):
    """Prints one series; returns the files it names in vain."""
    sets = xml.etree.ElementTree.parse(path).getroot().iter("DataSet")
    entries = [(float(entry.get("timestep")), entry.get("file")) for entry in sets]
    print(f"{path.name}: {len(entries)} files, {entries[0][0]:g} to {entries[-1][0]:g}" if entries else path.name)
    return [f"{path.name}: {file} is missing" for _, file in entries if not (path.parent / file).is_file()]


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    folder = pathlib.Path(sys.argv[1])
    files = sorted(p for p in folder.iterdir() if p.suffix in READERS or p.suffix == ".pvd")
    if not files:
        print(f"{folder} holds no .vtu, .vtp or .pvd", file=sys.stderr)
        sys.exit(2)
    messages = listen()
    faults = [f for p in files for f in (series(p) if p.suffix == ".pvd" else read(p, messages))]
    for fault in faults:
        print(f"FAULT {fault}", file=sys.stderr)
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
