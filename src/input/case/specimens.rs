//! Case files that have every form a value may have, for what they make the reader ask.
//!
//! What excludes each other stands in specimens of its own; mistakes do not matter, for reading goes on behind them.

use super::asked::Asked;
use super::load::case;
use super::reader::Reader;
use std::path::Path;
use toml::de::DeTable;

const CELL: [&str; 10] = [
    "length = 1\nwidth = 1\ngap = 1",
    "length = 1\nwidth = 1\ngap = { at = 1, slope = [0, 0] }",
    "length = 1\nwidth = 1\ngap = { at = 1, bowed = true }",
    // the name of no file
    "length = 1\nwidth = 1\ngap = { table = \"\" }",
    "gap = 1\ncontraction = { length_in = 1, width_in = 1, length = 1, length_out = 1, width_out = 1, shape = \"arc\" }",
    "gap = 1\nbend = { length_in = 1, width_in = 1, length_out = 1, width_out = 1, inner_radius = 0, towards = \"left\" }",
    "gap = 1\noutline = { points = [[0, 0], [1, 0], [0, 1]], smooth = true }\n[[end]]\nname = \"a\"\nrole = \"inlet\"\n\
     kind = \"closed\"\nfrom = [0, 0]\nto = [1, 0]",
    "gap = 1\noutline = { file = \"a.csv\", centre = [0, 0], width = 1, angle = 0, mirror = false, smooth = false, id = \"a\", layer = \"a\", \
     every = false, tolerance = 0, unit = \"mm\", threshold = 0.5, tone = \"dark\", marks = [[0, 0], [1, 0]], marks_apart = 1, deviation = 1 }",
    "gap = 1\noutline = { file = \"a.csv\", centre = [0, 0], height = 1 }",
    "gap = 1\noutline = { file = \"a.csv\", as_drawn = true }",
];

const FLUID: [&str; 5] = [
    "name = \"water\"\ntemperature = 293",
    "name = \"glycerol-water\"\ntemperature = 293\nglycerol_mass_fraction = 0.1",
    "name = \"glycerol-water\"\ntemperature = 293\nglycerol_volume_fraction = 0.1",
    "density = 1\nviscosity = 1",
    "density = 1\nviscosity = \"1 cSt\"",
];

const DRIVE: [&str; 7] = [
    "mean_speed = 1",
    "flow_rate = 1",
    "pressure_drop = 1",
    "head = 1",
    "reduced_reynolds = 1",
    "obstacle_reynolds = 1",
    "gap_reynolds = 1",
];

const OBSTACLE: [&str; 12] = [
    "circle = { centre = [0, 0], diameter = 1 }",
    "ellipse = { centre = [0, 0], semi_axes = [1, 1], angle = 0 }",
    "polygon = { points = [[0, 0], [1, 0], [0, 1]] }",
    "polygon = { sides = 3, centre = [0, 0], width = 1, angle = 0 }",
    "outline = { points = [[0, 0], [1, 0], [0, 1]], smooth = true }",
    "outline = { file = \"a.csv\", centre = [0, 0], width = 1, angle = 0, mirror = false, smooth = false, id = \"a\", layer = \"a\", \
     every = false, tolerance = 0, unit = \"mm\", threshold = 0.5, tone = \"dark\", marks = [[0, 0], [1, 0]], marks_apart = 1, \
     deviation = 1 }",
    "outline = { file = \"a.csv\", centre = [0, 0], height = 1 }",
    "outline = { file = \"a.csv\", as_drawn = true }",
    "four_digit = { section = \"2412\", chord = 1, nose = [0, 0], angle = 0, closed_tail = true }",
    "joukowski = { chord = 1, thickness = 0.1, camber = 0, nose = [0, 0], angle = 0 }",
    "teardrop = { length = 2, diameter = 1, nose = [0, 0], angle = 0 }",
    "tail = [0, 0]\ncircle = { centre = [0, 0], diameter = 1 }",
];

const LINE: [&str; 2] = ["from = [0, 0]\nto = [1, 0]", "along = \"a\"\ndistance = 0"];

const STREAKLINES: [&str; 4] = [
    "starts = [1, 2]\nneedle_diameter = 1\ntimes = 1",
    "starts = [[0, 1], [0, 2]]\ntimes = [1, 2]",
    "starts = { x = 0, y = [1, 2] }\nspacing = 1",
    // the name of no file
    "starts = { file = \"\" }",
];

const RIG: [&str; 2] = [
    "[rig.tubing]\nlength = 1\nbore = 1\nloss_factors = [1]\n[rig.calibrate]\nflow_rate = 1\nhead = 1",
    "[rig.calibrate]\nflow_rate = 1\npressure_drop = 1",
];

const SWEEP: [&str; 8] = [
    "reduced_reynolds = [1, 2]",
    "mean_speed = [1, 2]",
    "gap = [1, 2]",
    "glycerol_mass_fraction = [0.1, 0.2]",
    "reduced_reynolds = { from = 1, to = 2, steps = 2, spacing = \"log\" }",
    "mean_speed = { from = 1, to = 2, steps = 2, spacing = \"log\" }",
    "gap = { from = 1, to = 2, steps = 2, spacing = \"log\" }",
    "glycerol_mass_fraction = { from = 0.1, to = 0.2, steps = 2, spacing = \"log\" }",
];

const FILLING: [&str; 4] = [
    "from = \"inlet\"\ntilt_towards = \"outlet\"\nsnapshots = 3",
    "from = { at = [0, 0], diameter = 1 }\ntilt_towards = 0",
    "snapshots = { time = [1, 2] }",
    "snapshots = { impulse = [1, 2] }",
];

const OTHERS: [&str; 1] = ["[[probe]]\nat = [0, 0]\n[mesh]\n[inertia]\n[tolerance]\n[departure]\n[rig]\n\
                            [[bubble]]\ncentre = [0, 0]\ndiameter = 1\n[photo]\n[[photo.mark]]\nat = [0, 0]\npixel = [0, 0]\n\
                            [compare]\nnuisance = [\"map\"]\n"];

/// Everything that is asked of cases, file after file; [`Asked`] of each begin with the table of the case itself.
pub fn questions() -> Vec<Asked> {
    let tables = [
        ("[cell]\n", &CELL[..]),
        ("[fluid]\n", &FLUID),
        ("[drive]\n", &DRIVE),
        ("[[obstacle]]\n", &OBSTACLE),
        ("[[line]]\n", &LINE),
        ("[streaklines]\n", &STREAKLINES),
        ("[sweep]\n", &SWEEP),
        ("[rig]\n", &RIG),
        ("[filling]\n", &FILLING),
        ("", &OTHERS),
    ];
    let texts = tables.into_iter().flat_map(|(head, bodies)| bodies.iter().map(move |body| format!("{head}{body}\n")));
    texts.flat_map(|text| asked_of(&text)).collect()
}

fn asked_of(text: &str) -> Vec<Asked> {
    let (root, _) = DeTable::parse_recoverable(text);
    let mut reader = Reader::noting(Path::new(""), root.get_ref());
    let _ = case(&mut reader, root.get_ref(), text, Path::new(""));
    reader.into_asked()
}
