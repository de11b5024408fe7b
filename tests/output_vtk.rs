//! VTK files: readable by others to the last bit, and never what a viewer would choke on.

#[path = "support/vtk.rs"]
mod vtk_file;

use std::path::Path;
use tempfile::TempDir;
use twinplate::report::Origin;
use twinplate::report::vtk::*;
use vtk_file::{ReadArray, read};

fn scratch() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn names(dir: &Path) -> Vec<String> {
    let mut names: Vec<_> =
        std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// A strip of n squares, each cut in two, with values that show every bit: tiny, huge, negative zero, thirds.
struct Strip {
    points: Vec<[f64; 2]>,
    triangles: Vec<[u32; 3]>,
    scalar: Vec<f64>,
    plane: Vec<[f64; 2]>,
    space: Vec<[f64; 3]>,
    flags: Vec<u8>,
    signed: Vec<i8>,
    numbers: Vec<i32>,
}

fn strip(n: usize) -> Strip {
    let points: Vec<[f64; 2]> = (0..2 * (n + 1)).map(|i| [(i / 2) as f64 / 3.0, (i % 2) as f64 / 7.0]).collect();
    let triangles: Vec<[u32; 3]> =
        (0..2 * n as u32).map(|k| if k % 2 == 0 { [k, k + 2, k + 1] } else { [k, k + 1, k + 2] }).collect();
    let odd = [f64::MIN_POSITIVE, -0.0, f64::MAX, -1.0 / 3.0, 5e-324, 101325.0];
    Strip {
        scalar: (0..points.len()).map(|i| odd[i % odd.len()]).collect(),
        plane: points.iter().map(|[x, y]| [x.sin(), y - 1.0]).collect(),
        space: triangles.iter().map(|t| [f64::from(t[0]).sqrt(), -0.1, f64::from(t[2]).exp2().recip()]).collect(),
        flags: (0..triangles.len()).map(|i| (i % 3) as u8).collect(),
        signed: (0..triangles.len()).map(|i| (i % 5) as i8 - 2).collect(),
        numbers: (0..triangles.len()).map(|i| i as i32 * 1_000 - i32::MAX).collect(),
        points,
        triangles,
    }
}

fn write_strip(path: &Path, strip: &Strip, encoding: Encoding) {
    let point = [
        Array { name: "pressure", unit: "Pa", data: Data::Scalar(&strip.scalar) },
        Array { name: "velocity", unit: "m/s", data: Data::Plane(&strip.plane) },
    ];
    let cell = [
        Array { name: "drift", unit: "µm/s", data: Data::Space(&strip.space) },
        Array { name: "validity", unit: "1", data: Data::UInt8(&strip.flags) },
        Array { name: "sign", unit: "1", data: Data::Int8(&strip.signed) },
        Array { name: "number", unit: "1", data: Data::Int32(&strip.numbers) },
    ];
    let grid = Grid { points: Places::Plane(&strip.points), cells: Cells::Triangles(&strip.triangles) };
    let origin = Origin { combined_sha256: "0123abcd".into(), settings_sha256: "4567cdef".into() };
    let stored = Fields { time: Some(0.27), origin: Some(&origin), encoding, ..Fields::default() };
    write_vtu(path, &grid, &Fields { point: &point, cell: &cell, ..stored }).unwrap();
}

/// Bits, so that -0.0 and 0.0 differ.
fn bits<'a>(values: impl IntoIterator<Item = &'a f64>) -> Vec<u64> {
    values.into_iter().map(|v| v.to_bits()).collect()
}

/// 1 to 4 squares end on every remainder of three bytes; 40 000 squares take several pieces of every array.
#[test]
fn a_grid_is_read_back_by_others_to_the_last_bit() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    for n in [1, 2, 3, 4, 40_000] {
        let strip = strip(n);
        write_strip(&path, &strip, Encoding::Base64);
        let file = read(&path);
        assert_eq!(file.points, strip.points.iter().map(|p| [p[0], p[1], 0.0]).collect::<Vec<_>>());
        let triangles = strip.triangles.iter().map(|t| t.map(|v| v as usize).to_vec());
        assert!(file.cells.into_iter().eq(triangles));
        let named = |arrays: &[ReadArray], k: usize, name: &str, components: usize| {
            assert_eq!((arrays[k].name.as_str(), arrays[k].components), (name, components));
            bits(&arrays[k].values)
        };
        assert_eq!(named(&file.point, 0, "pressure", 1), bits(&strip.scalar));
        let velocity: Vec<f64> = strip.plane.iter().flat_map(|v| [v[0], v[1], 0.0]).collect();
        assert_eq!(named(&file.point, 1, "velocity", 3), bits(&velocity));
        assert_eq!(named(&file.cell, 0, "drift", 3), bits(strip.space.as_flattened()));
        let whole = |values: Vec<i32>| bits(&values.into_iter().map(f64::from).collect::<Vec<_>>());
        assert_eq!(named(&file.cell, 1, "validity", 1), whole(strip.flags.iter().map(|&v| v.into()).collect()));
        assert_eq!(named(&file.cell, 2, "sign", 1), whole(strip.signed.iter().map(|&v| v.into()).collect()));
        assert_eq!(named(&file.cell, 3, "number", 1), whole(strip.numbers));
    }
    assert_eq!(names(dir.path()), ["fields.vtu"]);
}

#[test]
fn wedges_and_lines_are_read_back() {
    let dir = scratch();
    let path = dir.path().join("wedges.vtu");
    let points: Vec<[f64; 3]> = (0..7).map(|i| [f64::from(i % 3), f64::from(i / 3), f64::from(i % 2)]).collect();
    let cells =
        Cells::Mixed { types: &[WEDGE, TRIANGLE], connectivity: &[0, 1, 2, 3, 4, 5, 4, 5, 6], offsets: &[6, 9] };
    write_vtu(&path, &Grid { points: Places::Space(&points), cells }, &Fields::default()).unwrap();
    let file = read(&path);
    assert_eq!(file.cells, [vec![0, 1, 2, 3, 4, 5], vec![4, 5, 6]]);
    assert_eq!(file.points, points);

    let path = dir.path().join("streaklines.vtp");
    let lines = [points[..3].to_vec(), points[3..].to_vec()];
    let time = [Array { name: "time", unit: "s", data: Data::Scalar(&[0.0, 1.0, 2.0, 0.0, 1.5, 3.0, 4.5]) }];
    let height = [Array { name: "height", unit: "1", data: Data::Scalar(&[0.0, 0.5]) }];
    write_vtp(&path, &lines, &Fields { point: &time, cell: &height, ..Fields::default() }).unwrap();
    let file = read(&path);
    assert_eq!(file.cells, [vec![0, 1, 2], vec![3, 4, 5, 6]]);
    assert_eq!(file.points, points);
    assert_eq!(file.at_points("time")[6], 4.5);
    assert_eq!(file.at_cells("height"), [0.0, 0.5]);
}

/// The raw bytes stand after the underscore, each array behind its length, at the offsets the head gives.
#[test]
fn appended_bytes_stand_where_the_head_says() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    let strip = strip(20_000);
    write_strip(&path, &strip, Encoding::Raw);
    let bytes = std::fs::read(&path).unwrap();
    let mark = b"<AppendedData encoding=\"raw\">\n_";
    let start = bytes.windows(mark.len()).position(|w| w == mark).unwrap();
    let head = std::str::from_utf8(&bytes[..start]).unwrap();
    let block = |name: &str| {
        let tail = head.split_once(&format!("Name=\"{name}\"")).unwrap().1;
        let offset: usize = tail.split_once("offset=\"").unwrap().1.split_once('"').unwrap().0.parse().unwrap();
        let from = &bytes[start + mark.len() + offset..];
        let length = u64::from_le_bytes(from[..8].try_into().unwrap()) as usize;
        &from[8..8 + length]
    };
    let floats = |v: &[f64]| v.iter().flat_map(|x| x.to_le_bytes()).collect::<Vec<u8>>();
    assert!(block("pressure") == floats(&strip.scalar));
    assert!(block("drift") == floats(strip.space.as_flattened()));
    assert!(block("validity") == strip.flags);
    assert!(block("types") == vec![TRIANGLE; strip.triangles.len()]);
}

/// Head and blocks as VTK's XML format has them: number of blocks, bytes of a full block, of the last, compressed bytes of each.
#[test]
fn compressed_blocks_give_the_numbers_back() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    let strip = strip(60_000);
    write_strip(&path, &strip, Encoding::Compressed);
    let bytes = std::fs::read(&path).unwrap();
    let mark = b"<AppendedData encoding=\"raw\">\n_";
    let start = bytes.windows(mark.len()).position(|w| w == mark).unwrap() + mark.len();
    let text = std::str::from_utf8(&bytes[..start]).unwrap();
    assert!(text.contains("compressor=\"vtkLZ4DataCompressor\""));
    let offset = text.split_once("Name=\"pressure\"").unwrap().1.split_once("offset=\"").unwrap().1;
    let offset: usize = offset.split_once('"').unwrap().0.parse().unwrap();
    let data = &bytes[start + offset..];
    let number = |k: usize| u64::from_le_bytes(data[8 * k..8 * k + 8].try_into().unwrap()) as usize;
    let blocks = number(0);
    let (mut at, mut out) = (8 * (3 + blocks), Vec::new());
    for k in 0..blocks {
        let end = at + number(3 + k);
        out.extend(lz4_flex::block::decompress(&data[at..end], number(1)).unwrap());
        at = end;
    }
    let expected: Vec<u8> = strip.scalar.iter().flat_map(|x| x.to_le_bytes()).collect();
    assert!(blocks > 1 && out == expected && expected.len() % number(1) == number(2));
}

#[test]
fn the_bytes_do_not_depend_on_the_number_of_threads() {
    let dir = scratch();
    let strip = strip(30_000);
    let [one, three] = [1, 3].map(|threads| {
        let path = dir.path().join("fields.vtu");
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| write_strip(&path, &strip, Encoding::Base64));
        std::fs::read(&path).unwrap()
    });
    assert!(one == three);
}

/// Texts are numbers, the codes of their letters: a reader that knows no strings takes them as well.
#[test]
fn units_and_hash_stand_once_in_the_field_data() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    write_strip(&path, &strip(1), Encoding::Base64);
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(!text.contains("String"));
    let stored = |name: &str| -> Vec<u8> {
        let open = format!("<DataArray type=\"UInt8\" Name=\"{name}\" NumberOfTuples=\"");
        let (count, rest) = text.split_once(&open).unwrap().1.split_once("\" format=\"ascii\">").unwrap();
        let codes = rest.split_once("</DataArray>").unwrap().0.split_whitespace();
        let codes: Vec<u8> = codes.map(|code| code.parse().unwrap()).collect();
        assert_eq!(codes.len(), count.parse::<usize>().unwrap());
        codes
    };
    let lines = ["pressure Pa", "velocity m/s", "drift µm/s", "validity 1", "sign 1", "number 1"];
    assert_eq!(stored("units"), lines.join("\n").into_bytes());
    assert_eq!(stored("combined_sha256"), b"0123abcd");
    assert_eq!(stored("settings_sha256"), b"4567cdef");
    assert!(text.contains("Name=\"TimeValue\" NumberOfTuples=\"1\" format=\"ascii\">0.27<"));
}

#[test]
fn what_a_viewer_would_choke_on_is_refused() {
    let dir = scratch();
    let path = dir.path().join("fields.vtu");
    let points = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]];
    let good = Grid { points: Places::Plane(&points), cells: Cells::Triangles(&[[0, 1, 2]]) };
    let array = |name, values| Array { name, unit: "1", data: Data::Scalar(values) };
    let refused = |grid: &Grid, fields: &Fields, part: &str| {
        let message = write_vtu(&path, grid, fields).unwrap_err().to_string();
        assert!(message.contains(part) && message.contains("help: "), "{message}");
    };
    let short = [array("a", &[1.0, 2.0])];
    refused(&good, &Fields { point: &short, ..Fields::default() }, "2 entries for 3 points");
    let twice = [array("a", &[1.0]), array("a", &[1.0])];
    refused(&good, &Fields { cell: &twice, ..Fields::default() }, "used twice");
    refused(&good, &Fields { time: Some(f64::NAN), ..Fields::default() }, "NaN");
    let cells = Cells::Triangles(&[[0, 1, 3]]);
    refused(&Grid { cells, ..good }, &Fields::default(), "vertex 3");
    let cells = Cells::Mixed { types: &[TRIANGLE], connectivity: &[0, 1, 2], offsets: &[4] };
    refused(&Grid { cells, ..good }, &Fields::default(), "do not belong together");
    assert!(names(dir.path()).is_empty());
    assert!(write_pvd(&dir.path().join("a.pvd"), &[(f64::INFINITY, "a.vtu")], None).is_err());
}

#[test]
fn a_series_lists_its_files() {
    let dir = scratch();
    let path = dir.path().join("departure.pvd");
    write_pvd(&path, &[(0.1, "departure_0001.vtu"), (0.2, "a&b.vtu")], None).unwrap();
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains("timestep=\"0.1\" group=\"\" part=\"0\" file=\"departure_0001.vtu\""));
    assert!(text.contains("file=\"a&amp;b.vtu\""));
}
