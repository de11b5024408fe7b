//! Case files: what is read, and what every kind of mistake says and where.

use proptest::prelude::*;
use std::path::Path;
use twinplate::base::error::Problems;
use twinplate::geometry::Wall;
use twinplate::input::case::*;

const GOOD: &str = r#"title = "Two piers"
[cell]
length = "2 m"
width = 1
gap = "1 mm"
[fluid]
name = "water"
temperature = "20 degC"
[drive]
mean_speed = "1 mm/s"
[[obstacle]]
name = "first pier"
circle = { centre = [0.6, "450 mm"], diameter = 0.28 }
[[obstacle]]
ellipse = { centre = [1.3, 0.6], semi_axes = [0.18, 0.1], angle = -12 }
[[probe]]
name = "shoulder"
at = [0.6, 0.65]
"#;

fn read(text: &str) -> Loaded {
    parse(text, Path::new("case.toml"))
}

fn lines(problems: &Problems) -> Vec<usize> {
    problems.list.iter().map(|p| problems.line_and_column(p).map_or(0, |(line, _)| line)).collect()
}

/// The good case with one line replaced (lines count from 1).
fn with(line: usize, new: &str) -> String {
    GOOD.lines()
        .enumerate()
        .map(|(k, old)| if k + 1 == line { format!("{new}\n") } else { format!("{old}\n") })
        .collect()
}

fn good(text: &str) -> Case {
    read(text).into_result().unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn a_good_case_is_read_in_si() {
    let case = good(GOOD);
    assert_eq!((case.title.as_str(), case.cell.shape.rectangle()), ("Two piers", Some([2.0, 1.0])));
    assert_eq!(case.cell.gap, Gap::Uniform(1e-3));
    assert_eq!(case.fluid.kind, FluidKind::Water { temperature: 293.15 });
    assert!((case.fluid.density - 998.2072).abs() < 1e-4);
    assert_eq!(case.drive.quantity, DriveQuantity::MeanSpeed(1e-3));
    assert_eq!(case.drive.ends, Ends::HeldPressure);
    assert_eq!(case.obstacles[0].shape, Shape::Circle { centre: [0.6, 0.45], diameter: 0.28 });
    assert_eq!(case.obstacles[1].name, "obstacle 2");
    let Shape::Ellipse { angle, .. } = case.obstacles[1].shape else { panic!("an ellipse") };
    assert!((angle + 12.0 * std::f64::consts::PI / 180.0).abs() < 1e-15);
    assert_eq!(case.probes[0].at, [0.6, 0.65]);
    assert_eq!(&GOOD[case.probes[0].place.clone()], "[0.6, 0.65]");
    assert_eq!(&GOOD[case.obstacles[0].place.clone()], "circle");
    assert_eq!((case.mesh.error, case.mesh.max_triangles, case.mesh.growth), (1e-3, 4_000_000, 0.3));
    assert_eq!(case.streaklines.seeding, Seeding::Count(24));
    assert_eq!((case.tolerance.speed, case.tolerance.shift, case.edge_band), (0.02, 0.5e-3, None));
    assert!(case.rig.material.defaulted && case.rig.youngs_modulus.defaulted && case.sweep.is_none());
    // SHA-256 of the empty text, FIPS 180-4 example.
    let empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
    assert_eq!(case.sha256.len(), empty.len());
    assert_eq!(good(&with(1, "# no title")).title, "case");
}

#[test]
fn every_table_is_read() {
    let text = with(9, "[drive]\nends = \"given-inflow\"\nreference_length = \"280 mm\"")
        .replace("gap = \"1 mm\"", "gap = { at = \"1 mm\", slope = [1e-4, -2e-4] }")
        + r#"
[[obstacle]]
on_wall = "upper"
polygon = { points = [[0.1, 1], ["200 mm", 1], [0.2, "0.9 m"]] }
[[obstacle]]
outline = { points = [[1, 0.1], [1.1, 0.1], [1.1, 0.2]], smooth = true }
[[obstacle]]
outline = { file = "seal.svg", centre = [1, 0.8], height = "5 cm", angle = 90, mirror = true }
[[obstacle]]
four_digit = { section = "2412", chord = 0.1, nose = [0.1, 0.5], angle = "4 deg", closed_tail = false }
[[obstacle]]
joukowski = { chord = 0.1, thickness = 0.12, nose = [0.1, 0.5] }
[[obstacle]]
teardrop = { length = 0.1, diameter = 0.02, nose = [0.1, 0.5] }
[mesh]
error = 1e-4
max_triangles = 1_000
max_edge = "1 cm"
growth = 0.5
[streaklines]
spacing = "8 mm"
height = -0.5
[tolerance]
speed = "1 %"
direction = "2 deg"
shift = "1 mm"
[departure]
edge_band = "3 mm"
[sweep]
gap = ["0.5 mm", "1 mm"]
[rig]
material = "glass"
plate_edges = "clamped"
contact_angle = 20
tilt = "0.5 deg"
dye_lines = 12
temperature_tolerance = "2 K"
"#;
    let case = good(&text);
    assert!((case.cell.gap.at([2.0, 1.0]) - (1e-3 + 1e-4 - 1e-4)).abs() < 1e-18);
    assert_eq!((case.drive.ends, case.drive.reference_length), (Ends::GivenInflow, Some(0.28)));
    assert_eq!(case.obstacles.len(), 8);
    assert_eq!(case.obstacles[2].on_wall, Some(Wall::Upper));
    let Shape::FourDigit { camber, camber_place, thickness, closed_tail, .. } = case.obstacles[5].shape else {
        panic!("a section")
    };
    assert_eq!((camber, camber_place, thickness, closed_tail), (0.02, 0.4, 0.12, false));
    let Shape::OutlineFile { placing: Placing::Centred { size, mirror, .. }, reading, .. } = &case.obstacles[4].shape
    else {
        panic!("a file")
    };
    assert_eq!((size, mirror, reading), (&OutlineSize::Height(0.05), &true, &ReadOptions::default()));
    assert_eq!((case.mesh.max_triangles, case.mesh.max_edge, case.mesh.growth), (1000, Some(0.01), 0.5));
    assert_eq!((case.streaklines.seeding, case.streaklines.height), (Seeding::Spacing(8e-3), -0.5));
    assert_eq!((case.tolerance.speed, case.edge_band), (0.01, Some(3e-3)));
    assert_eq!(case.sweep, Some(Sweep { quantity: SweepQuantity::Gap, values: vec![5e-4, 1e-3] }));
    let rig = case.rig;
    assert_eq!((rig.youngs_modulus.value, rig.youngs_modulus.defaulted), (70e9, false));
    assert_eq!((rig.plate_edges.value, rig.plate_thickness.defaulted), (PlateEdges::Clamped, true));
    assert_eq!((rig.tilt.value, rig.dye_lines, rig.temperature_tolerance.value), (0.5f64.to_radians(), Some(12), 2.0));
    assert!(rig.outlet_level.defaulted && rig.flow_ripple.defaulted && rig.camera_pixels.value == 4000);
}

/// Needles in every form, a photograph with its marks, and what is taken where the case is silent.
#[test]
fn a_photograph_and_its_needles_are_read() {
    let starts = |text: &str| match good(&format!("{GOOD}[streaklines]\nstarts = {text}\n")).streaklines.seeding {
        Seeding::At(starts) => starts.places,
        other => panic!("{other:?}"),
    };
    assert_eq!(starts("[\"18 mm\", 0.025]"), [[0.0, 18.0 * 1e-3], [0.0, 0.025]]);
    assert_eq!(starts("{ x = \"4 mm\", y = [0.1, 0.2] }"), [[4e-3, 0.1], [4e-3, 0.2]]);
    assert_eq!(starts("[[0.3, 0.1], [\"40 cm\", 0.2]]"), [[0.3, 0.1], [0.4, 0.2]]);
    let photo = |more: &str| good(&format!("{GOOD}{more}")).photo.unwrap();
    let found = photo(
        "[photo]\nmarks_on = \"inner face\"\n[[photo.mark]]\nname = \"a\"\nat = [\"-5 cm\", 0.1]\npixel = [361, 1010.5]\n[rig]\nmaterial = \"glass\"\n",
    );
    assert_eq!((found.marks_on, found.plate_thickness, found.plate_index), (Face::Inner, 10e-3, 1.52));
    assert!(found.placed_within.defaulted && found.placed_within.value == 0.2e-3 && found.rectify);
    assert_eq!((found.lens, found.dye, found.mark_size), (LensPrior::CORRECTED, Dye::Dark, None));
    assert_eq!((found.marks[0].at, found.marks[0].click), ([-0.05, 0.1], [361.0, 1010.5]));
    let found = photo(
        "[photo]\nfile = \"evening.jpg\"\nmarks_on = \"outer face\"\nlens = \"uncorrected\"\ndye = \"bright\"\nmark_placed_within = \"0.1 mm\"\n[rig]\nplate_thickness = \"8 mm\"\n",
    );
    assert_eq!((found.file.as_deref(), found.plate_thickness), (Some(Path::new("evening.jpg")), 8e-3));
    assert_eq!((found.lens, found.dye, found.placed_within.defaulted), (LensPrior::UNCORRECTED, Dye::Bright, false));
    let settings =
        good(&format!("{GOOD}[compare]\nnuisance = [\"obstacles\", \"taper\"]\nstation = \"1 mm\"\n")).compare;
    assert_eq!((settings.map, settings.obstacles, settings.taper, settings.station), (false, true, true, 1e-3));
    assert_eq!(good(GOOD).compare, CompareSettings::default());
}

#[test]
fn sweeps_over_a_range_include_both_ends() {
    let sweep = |text: &str| good(&format!("{GOOD}[sweep]\n{text}\n")).sweep.map(|s| s.values);
    let values = sweep("reduced_reynolds = { from = 0.1, to = 0.5, steps = 5 }").unwrap();
    for (value, wanted) in values.iter().zip([0.1, 0.2, 0.3, 0.4, 0.5]) {
        assert!((value - wanted).abs() < 1e-15);
    }
    let values = sweep("mean_speed = { from = \"1 mm/s\", to = 0.1, steps = 3, spacing = \"log\" }").unwrap();
    assert!((values[1] - 0.01).abs() < 1e-16 && values[2] == 0.1);
    assert_eq!(sweep("glycerol_mass_fraction = [0, 0.5, 1]"), Some(vec![0.0, 0.5, 1.0]));
}

#[test]
fn each_mistake_is_named_at_its_line() {
    let huge = format!("width = 1{}", "0".repeat(400));
    // Line of the good case to replace, what to write, line of the mistake, part of what is said.
    let table: &[(usize, &str, usize, &str)] = &[
        (4, "widht = 1", 4, "did you mean \"width\"?"),
        (4, "", 2, "lacks the key \"width\""),
        (4, "width = true", 4, "must be a number or a text with a unit and is true or false"),
        (4, "width = \"1 s\"", 4, "\"1 s\" is a time, not a length"),
        (4, "width = \"1 mn\"", 4, "did you mean"),
        (4, "width = \"1\"", 4, "has no unit"),
        (4, "width = \"wide\"", 4, "does not start with a number"),
        (4, "width = nan", 4, "not finite"),
        (4, "width = inf", 4, "not finite"),
        (4, "width = 1e999", 4, "not finite"),
        (4, &huge, 4, "not finite"),
        (4, "width = 0xfffffffffffffffffffffffffffffffffff", 4, "not finite"),
        (4, "width = 0", 4, "must be from 1 um to 10000 m"),
        (4, "width = \"-1 m\"", 4, "must be from"),
        (4, "width = 1.0001e4", 4, "must be from"),
        (4, "width = \"0.99 um\"", 4, "must be from"),
        (4, "width = 1\nwidth = 2", 5, "given twice"),
        (4, "width = ", 4, "not TOML"),
        (4, "width = \"1 m", 4, "not TOML"),
        (5, "gap = { at = 1e-3, slope = [2e-3, 0] }", 5, "the gap is"),
        (5, "gap = { at = 1e-3, slope = [0] }", 5, "a list of 1"),
        (5, "gap = { att = 1e-3 }", 5, "did you mean \"at\"?"),
        (2, "[cell]\nlength = 2\nwidth = 1\ngap = 1e-3\n[cel]", 6, "did you mean \"cell\"?"),
        (7, "name = \"watr\"", 7, "did you mean \"water\"?"),
        (2, "[inertia]\nnext_edge_term = true\ncurvature_factor = true\n[cell]", 4, "each in place of the other"),
        (2, "[photo]\nmark_size = \"7 mm\"\n[cell]", 2, "lacks the key \"marks_on\""),
        (2, "[photo]\nmarks_on = \"front\"\n[cell]", 3, "marks_on"),
        (2, "[photo]\nmarks_on = \"outer face\"\n[cell]", 3, "a plate of unknown thickness"),
        (2, "[photo]\nmarks_on = \"inner face\"\nplate_index = 0.9\n[cell]", 4, "plate_index is 0.9"),
        (
            2,
            "[photo]\nmarks_on = \"inner face\"\n[[photo.mark]]\nname = \"a\"\nat = [2.3, 0.5]\npixel = [3, 4]\n[cell]",
            6,
            "mark a at (2.3 m, 500 mm) is outside the cell",
        ),
        (
            2,
            "[photo]\nmarks_on = \"inner face\"\n[[photo.mark]]\nat = [0.3, 0.5]\n[cell]",
            4,
            "lacks the key \"pixel\"",
        ),
        (2, "[compare]\nnuisance = [\"tapir\"]\n[cell]", 3, "nuisance \"tapir\" is not known"),
        (2, "[compare]\nstation = \"1 m\"\n[cell]", 3, "station is 1 m"),
        (2, "[streaklines]\nstarts = []\n[cell]", 3, "starts must be a list of 1 to"),
        (2, "[streaklines]\nstarts = [0.1]\ncount = 3\n[cell]", 4, "both \"count\" and \"starts\""),
        (7, "name = \"glycerol-water\"", 6, "lacks the key \"glycerol_mass_fraction\""),
        (7, "", 6, "lacks the key \"name\""),
        (8, "", 6, "lacks the key \"temperature\""),
        (8, "temperature = 20", 8, "0 degC to 100 degC"),
        (8, "temperature = \"120 degC\"", 8, "0 degC to 100 degC"),
        (8, "temperature = \"20 degC\"\ndensity = 998", 9, "both \"name\" and \"density\""),
        (8, "temperature = \"20 degC\"\nglycerol_mass_fraction = 0.5", 9, "without glycerol"),
        (8, "temperature = \"20 degC\"\nglycerol_volume_fraction = 0.5", 9, "without glycerol"),
        (8, "temperature = \"20 C\"", 8, "did you mean \"degC\"?"),
        (10, "flow_rate = \"3 cc/min\"", 10, "did you mean \"mL\"?"),
        (
            7,
            "name = \"glycerol-water\"\nglycerol_mass_fraction = 40",
            8,
            "is 40 and must be from 0 to 1 write 0.4 or \"40 %\"",
        ),
        (7, "name = \"glycerol-water\"\nglycerol_volume_fraction = \"40\"", 8, "write 0.4 or \"40 %\""),
        (7, "name = \"glycerol-water\"\nglycerol_volume_fraction = \"140 %\"", 8, "such as 0.02"),
        (7, "name = \"glycerol-water\"\nglycerol_volume_fraction = 101", 8, "such as 0.02"),
        (
            7,
            "name = \"glycerol-water\"\nglycerol_mass_fraction = 0.4\nglycerol_volume_fraction = 0.4",
            9,
            "both \"glycerol_mass_fraction\" and \"glycerol_volume_fraction\"",
        ),
        (10, "", 9, "none of mean_speed"),
        (10, "mean_speed = 1\nhead = 1", 11, "both \"mean_speed\" and \"head\""),
        (10, "mean_speed = -1", 10, "must be above zero"),
        (10, "mean_speed = 1\nends = \"held\"", 11, "write one of \"held-pressure\", \"given-inflow\""),
        (10, "mean_speed = 1\nends = 3", 11, "must be a text"),
        (12, "name = \"\"", 12, "empty"),
        (12, "name = \"obstacle 2\"", 14, "another obstacle"),
        (12, "on_wall = \"left\"", 12, "lower"),
        (13, "", 11, "none of circle"),
        (13, "circle = { centre = [0, 0], diameter = 1 }\nteardrop = { }", 14, "both \"circle\" and \"teardrop\""),
        (13, "circle = 3", 13, "must be a table"),
        (13, "circle = { centre = [0, 0, 0], diameter = 1 }", 13, "a list of 3"),
        (13, "circle = { centre = [0, \"x\"], diameter = 1 }", 13, "second value"),
        (13, "ellipse = { centre = [0, 0], semi_axes = [1, 0] }", 13, "above zero"),
        (13, "polygon = { points = [[0, 0], [1, 0],\n[0, 0], [1, -0.0]] }", 13, "2 distinct points"),
        (13, "polygon = { points = [[0, 0], [1, 0],\n[0, \"1 kg\"]] }", 14, "not a length"),
        (13, "outline = { smooth = true }", 13, "none of file, points"),
        (13, "outline = { file = \"a.csv\", points = [] }", 13, "both \"file\" and \"points\""),
        (13, "outline = { file = \"a.csv\", centre = [0, 0], tolerance = 0.1 }", 13, "from 0 to 0.01"),
        (13, "outline = { file = \"a.svg\", centre = [0, 0], unit = \"s\" }", 13, "not a length"),
        (13, "outline = { file = \"a.svg\", centre = [0, 0], every = 1 }", 13, "true or false"),
        (13, "outline = { points = [[0, 0], [1, 0]], smooth = 1 }", 13, "true or false"),
        (13, "outline = { points = [[0, 0], [1, 0], [1, 1]], width = 1 }", 13, "unknown key \"width\""),
        (13, "four_digit = { section = \"24120\", chord = 1, nose = [0, 0] }", 13, "exactly four digits"),
        (13, "four_digit = { section = \"24१२\", chord = 1, nose = [0, 0] }", 13, "exactly four digits"),
        (13, "four_digit = { section = 2412, chord = 1, nose = [0, 0] }", 13, "must be a text"),
        (13, "four_digit = { section = \"2400\", chord = 1, nose = [0, 0] }", 13, "no thickness"),
        (13, "four_digit = { section = \"2012\", chord = 1, nose = [0, 0] }", 13, "no place"),
        (13, "joukowski = { chord = 1, thickness = 12, nose = [0, 0] }", 13, "above 0 and below 1"),
        (13, "teardrop = { length = 1, diameter = 2, nose = [0, 0] }", 13, "not below the length"),
        (13, "teardrop = { length = 1, diameter = 0.2, nose = [0, 0], angle = \"3 m\" }", 13, "not an angle"),
        (17, "name = \"shoulder\"\nat = [0, 0]\n[[probe]]\nname = \"shoulder\"", 20, "another probe"),
        (18, "", 16, "lacks the key \"at\""),
        (16, "[mesh]\nerror = 1\n[[probe]]", 17, "below 1"),
        (16, "[mesh]\nerror = 0\n[[probe]]", 17, "above 0"),
        (16, "[mesh]\nmax_triangles = 1e6\n[[probe]]", 17, "max_triangles"),
        (16, "[mesh]\nmax_triangles = -5\n[[probe]]", 17, "from 100"),
        (16, "[mesh]\nmax_triangles = 99999999999999999999\n[[probe]]", 17, "from 100"),
        (16, "[mesh]\ngrowth = 2\n[[probe]]", 17, "from 0.05 to 1"),
        (16, "[streaklines]\ncount = 0\n[[probe]]", 17, "from 1 to 10000"),
        (16, "[streaklines]\ncount = 2\nspacing = 1\n[[probe]]", 18, "both"),
        (16, "[streaklines]\nheight = 1.5\n[[probe]]", 17, "from -1 to 1"),
        (16, "[tolerance]\nspeed = 0\n[[probe]]", 17, "above zero"),
        (16, "[departure]\nedge_band = -1\n[[probe]]", 17, "zero or above"),
        (16, "[departure]\nband = 1\n[[probe]]", 17, "edge_band"),
        (16, "[sweep]\n[[probe]]", 16, "none of reduced_reynolds"),
        (16, "[sweep]\ngap = [1]\nmean_speed = [1]\n[[probe]]", 18, "both"),
        (16, "[sweep]\ngap = []\n[[probe]]", 17, "0 values"),
        (16, "[sweep]\ngap = [1,\n1]\n[[probe]]", 18, "does not increase"),
        (16, "[sweep]\ngap = [0, 1]\n[[probe]]", 17, "above zero"),
        (16, "[sweep]\ngap = 3\n[[probe]]", 17, "a list or a table"),
        (16, "[sweep]\ngap = { from = 1, to = 2, steps = 10001 }\n[[probe]]", 17, "from 2 to 10000"),
        (16, "[sweep]\ngap = { from = 2, to = 1, steps = 3 }\n[[probe]]", 17, "larger than"),
        (16, "[sweep]\ngap = { from = 1, to = 2 }\n[[probe]]", 17, "lacks the key \"steps\""),
        (16, "[sweep]\nglycerol_mass_fraction = [0.5, 1.5]\n[[probe]]", 17, "from 0 to 1"),
        (16, "[rig]\nmaterial = \"perspex\"\n[[probe]]", 17, "acrylic"),
        (16, "[rig]\nmaterial = \"glass\"\nyoungs_modulus = 1e9\n[[probe]]", 18, "both"),
        (16, "[rig]\nyoungs_modulus = \"3 GPa\"\n[[probe]]", 17, "without \"poisson_ratio\""),
        (16, "[rig]\nyoungs_modulus = 3e9\npoisson_ratio = 0.5\n[[probe]]", 18, "from 0 to 0.499"),
        (16, "[rig]\nplate_edges = \"glued\"\n[[probe]]", 17, "supported"),
        (16, "[rig]\ncontact_angle = 200\n[[probe]]", 17, "from 0 deg to 180 deg"),
        (16, "[rig]\ndye_diffusivity = \"1 m/s\"\n[[probe]]", 17, "not a diffusivity"),
        (16, "[rig]\nsurface_tension = 0\n[[probe]]", 17, "above zero"),
        (16, "[rig]\ntemperature_tolerance = \"1 degC\"\n[[probe]]", 17, "difference in kelvin"),
        (16, "[rig]\nflow_ripple = \"150 %\"\n[[probe]]", 17, "from 0 to 1"),
        (16, "[rig]\ngap_tolerance = -1\n[[probe]]", 17, "zero or above"),
        (16, "[rig]\ntilt = 91\n[[probe]]", 17, "from 0 deg to 90 deg"),
        (16, "[rig]\ndye_lines = 0\n[[probe]]", 17, "from 1 to 10000"),
        (16, "[rig]\ncamera_pixels = 4.5\n[[probe]]", 17, "a whole number"),
        (16, "[rig]\ntracer_diameter = \"20 mL\"\n[[probe]]", 17, "not a length"),
        (16, "[rig]\noutlet_levl = 0\n[[probe]]", 17, "outlet_level"),
        (1, "title = 5", 1, "must be a text"),
        (1, "obstacle = 5\n[x]", 1, "an array of tables"),
    ];
    for (line, new, place, part) in table {
        let problems = read(&with(*line, new)).problems;
        let found = lines(&problems);
        assert!(found.contains(place), "{new}: lines {found:?}\n{problems}");
        let said = problems
            .list
            .iter()
            .zip(&found)
            .any(|(p, l)| l == place && format!("{} {}", p.message, p.remedy).contains(part));
        assert!(said, "{new}: wanted {part:?} at line {place}\n{problems}");
        assert!(problems.to_string().contains(&format!("case.toml:{place}:")), "{problems}");
        assert!(problems.list.iter().all(|p| !p.remedy.is_empty()));
    }
}

#[test]
fn a_kinematic_viscosity_is_taken_times_the_density() {
    let fluid = |lines: &str| read(&GOOD.replace("name = \"water\"\ntemperature = \"20 degC\"", lines));
    for given in ["1.5 cSt", "1.5 mm2/s", "1.5e-6 m^2/s"] {
        let case = fluid(&format!("density = 1200\nviscosity = \"{given}\"")).into_result().unwrap();
        // a product of a few factors is right to 4 ulp
        assert!((case.fluid.viscosity / 1.8e-3 - 1.0).abs() < 4.0 * f64::EPSILON, "{given}: {}", case.fluid.viscosity);
    }
    let problems = fluid("viscosity = \"1.5 cSt\"").problems;
    assert_eq!((problems.list.len(), lines(&problems)), (1, vec![7]), "{problems}");
    assert!(problems.to_string().contains("kinematic") && problems.list[0].remedy.contains("density = "), "{problems}");
    assert!(fluid("density = 1200\nviscosity = \"-1 cSt\"").problems.to_string().contains("above zero"));
}

#[test]
fn glycerol_by_volume_becomes_glycerol_by_mass() {
    let mixed = |line: &str| good(&with(7, &format!("name = \"glycerol-water\"\n{line}"))).fluid;
    let by_volume = mixed("glycerol_volume_fraction = \"40 %\"");
    let FluidKind::GlycerolWater { fraction, .. } = by_volume.kind else { panic!("a mixture") };
    assert_eq!(Ok(fraction), twinplate::base::units::fluid::glycerol_mass_fraction(0.4, 293.15));
    let by_mass = mixed(&format!("glycerol_mass_fraction = {fraction}"));
    assert_eq!((by_volume.density, by_volume.viscosity), (by_mass.density, by_mass.viscosity));
    assert!(by_volume.name.contains("(40 % by volume before mixing)"), "{}", by_volume.name);
}

#[test]
fn one_mistake_gives_one_message() {
    for (line, new) in [
        (4, "width = 0"),
        (4, "width = \"1 m"),
        (4, "width = 0 m\nlenth = 2"),
        (8, "temperature = \"120 degC\""),
        (10, "mean_speed = \"1 m\""),
        (13, "circle = { centre = [0.6, 0.4], diameter = \"1 s\" }"),
        (13, "outline = { file = \"a.csv\", centre = [0, 0], width = -1 }"),
        (16, "[sweep]\nglycerol_mass_fraction = [0.5, 0.4]\n[[probe]]"),
    ] {
        let problems = read(&with(line, new)).problems;
        assert_eq!(problems.list.len(), 1, "{new}\n{problems}");
    }
}

#[test]
fn all_mistakes_are_reported_and_the_geometry_stays() {
    let text =
        with(10, "mean_speed = \"1 m\"").replace("0.28 }", "0.28, colour = 3 }").replace("[0.18, 0.1]", "[0.18]")
            + "[mesh]\nerror = 2\n[tolerance]\nsped = 1\n";
    let loaded = read(&text);
    let mut found = lines(&loaded.problems);
    found.sort_unstable();
    assert_eq!(found, [10, 13, 15, 20, 22], "{}", loaded.problems);
    let case = loaded.case.expect("the cell was readable");
    assert_eq!(case.obstacles.len(), 1);
    assert!(read(&with(4, "width = 0")).case.is_none());
    assert!(read(&with(10, "mean_speed = 0")).into_result().is_err());
}

#[test]
fn missing_tables_are_named() {
    let text = read("").problems.to_string();
    for part in ["[cell] is missing", "[fluid] is missing", "[drive] is missing", "case.toml"] {
        assert!(text.contains(part), "{text}");
    }
}

#[test]
fn columns_count_characters() {
    let problems = read(&with(4, "width = \"1 µs\" # é")).problems;
    assert_eq!(problems.line_and_column(&problems.list[0]), Some((4, 9)));
    let problems = read(&format!("\u{feff}{}", with(4, "width = 0"))).problems;
    assert_eq!(problems.line_and_column(&problems.list[0]), Some((4, 9)));
    let problems = read(&with(4, "width = 0").replace('\n', "\r\n")).problems;
    assert_eq!(problems.line_and_column(&problems.list[0]), Some((4, 9)));
}

#[test]
fn files_that_are_no_case() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("latin.toml"), b"title = 1\ntitle = \"caf\xe9\"\n").unwrap();
    std::fs::write(at("large.toml"), vec![b'#'; LARGEST_FILE as usize + 1]).unwrap();
    std::fs::write(at("good.toml"), GOOD).unwrap();
    for name in ["keel.svg", "keel.dxf", "keel.png", "keel.csv", "fields.vtu"] {
        std::fs::write(at(name), "<svg/>").unwrap();
    }
    for (path, part) in [
        (at("none.toml"), "cannot be read"),
        (folder.path().to_owned(), "this is a folder"),
        (at("latin.toml"), "latin.toml:2:13"),
        (at("large.toml"), "larger than 8 MiB"),
        (at("goood.toml"), "good.toml\"? check the name"),
        (at("keel.svg"), "this is a drawing, not a case file"),
        (at("keel.dxf"), "outline = { file = \"keel.dxf\", centre"),
        (at("keel.png"), "this is a picture, not a case file"),
        (at("keel.csv"), "gap = { table = \"keel.csv\" }"),
        (at("fields.vtu"), "this is a result, not a case file"),
    ] {
        let error = load(&path).into_result().unwrap_err();
        assert!(matches!(error, twinplate::Error::Input(_)));
        assert!(error.to_string().contains(part), "{error}");
    }
    assert_eq!(load(&at("good.toml")).into_result().unwrap().file, at("good.toml"));
}

#[test]
fn the_starter_case_is_right() {
    let [(name, text), (outline, points)] = starter();
    assert_eq!((name, outline), ("case.toml", "seal.csv"));
    let case = good(text);
    let speed = match case.drive.quantity {
        DriveQuantity::MeanSpeed(speed) => speed,
        other => panic!("{other:?}"),
    };
    let reynolds = Reynolds::new(speed, case.drive.reference_length.unwrap(), 0.5e-3, &case.fluid);
    assert!((reynolds.obstacle - 10.0).abs() < 0.5 && reynolds.reduced < 0.003, "{reynolds:?}");
    assert_eq!((case.obstacles.len(), case.probes.len()), (2, 2));
    let rows: Vec<[f64; 2]> = points
        .lines()
        .skip(1)
        .map(|row| row.split_once(',').map(|(x, y)| [x.parse().unwrap(), y.parse().unwrap()]).unwrap())
        .collect();
    assert!(rows.len() >= 40);
    // The stated reference length is the height of the seal at its width of 110 mm; the curve overshoots its points a little.
    let extent = |k: usize| {
        let values = rows.iter().map(|r| r[k]);
        values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
    };
    assert!((extent(1) / extent(0) * 110.0 - 37.0).abs() < 0.5);
}

proptest! {
    #[test]
    fn random_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let loaded = read(&String::from_utf8_lossy(&bytes));
        prop_assert!(!loaded.problems.to_string().is_empty());
    }

    #[test]
    fn mutated_cases_never_panic(
        whole in any::<bool>(),
        edits in proptest::collection::vec((any::<prop::sample::Index>(), 0usize..6, any::<prop::sample::Index>()), 1..6),
    ) {
        let mut text: Vec<char> = if whole { starter()[0].1 } else { GOOD }.chars().collect();
        let pieces = ["\"", "[", "]", "{", "}", "=", "\n", "1e999", "µ", "\u{0}", ",", ".", "[[x]]", "-", "'''", "#", "nan"];
        for (place, kind, pick) in edits {
            let at = place.index(text.len() + 1).min(text.len());
            match kind {
                0 => { text.truncate(at); }
                1 | 2 => { text.drain(at..(at + kind * 7).min(text.len())); }
                3 => {
                    let line: Vec<char> = text[at..].iter().take(30).copied().collect();
                    text.splice(at..at, line);
                }
                _ => { text.splice(at..at, pieces[pick.index(pieces.len())].chars()); }
            }
        }
        let text: String = text.into_iter().collect();
        let loaded = read(&text);
        let shown = loaded.problems.render(true);
        prop_assert!(loaded.problems.is_empty() == shown.is_empty());
        if loaded.case.is_none() {
            prop_assert!(!loaded.problems.is_empty());
        }
    }
}

#[test]
fn large_and_deep_files_end_in_an_error() {
    for text in [
        "[".repeat(1 << 20),
        "a = ".to_owned() + &"[".repeat(1 << 20),
        "a = ".to_owned() + &"{a=".repeat(1 << 19),
        "a.".repeat(1 << 20) + "a = 1",
        "[".to_owned() + &"a.".repeat(1 << 20) + "a]",
        "a=\n".repeat(1 << 18),
        "x".repeat(1 << 20),
        (0..20_000).map(|k| format!("k{k} = 1\n")).collect(),
        format!("[cell]\nlength = \"{}\"", "m ".repeat(1 << 19)),
        format!("[cell]\nlength = \"1 {}\"", "m ".repeat(1 << 19)),
        format!("[cell]\nlength = 1{}", "0".repeat(1 << 19)),
    ] {
        let loaded = read(&text);
        let shown = loaded.problems.to_string();
        assert!(!shown.is_empty());
    }
}

#[test]
fn a_file_that_a_case_names_is_proposed_by_its_nearest_name() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["caisson.svg", "gaps.csv"] {
        std::fs::write(folder.path().join(name), "").unwrap();
    }
    let said = |text: &str| {
        std::fs::write(folder.path().join("case.toml"), text).unwrap();
        twinplate::input::read(&folder.path().join("case.toml")).unwrap_err().to_string()
    };
    let outline = said(&with(13, "outline = { file = \"caison.svg\", centre = [0.6, 0.5], width = 0.2 }"));
    assert!(outline.contains("case.toml:13:") && outline.contains("did you mean \"caisson.svg\"?"), "{outline}");
    let gaps = said(&with(5, "gap = { table = \"gap.csv\" }"));
    assert!(gaps.contains("did you mean \"gaps.csv\"?"), "{gaps}");
}

#[test]
fn an_obstacle_far_larger_than_the_cell_has_lost_its_unit() {
    for (shape, unit) in [
        ("polygon = { points = [[500, 300], [800, 300], [700, 700]] }", "if mm are meant"),
        ("circle = { centre = [60, 45], diameter = 28 }", "if cm are meant"),
        ("circle = { centre = [6e5, 4.5e5], diameter = 2.8e5 }", "if um are meant"),
    ] {
        let case = good(&with(13, shape));
        let mut problems = Problems::default();
        assert!(twinplate::geometry::Plan::new(&case, &mut problems).is_none());
        let text = problems.to_string();
        assert_eq!(problems.list.len(), 1, "{text}");
        assert_eq!(problems.list[0].span, Some(case.obstacles[0].place.clone()));
        assert!(text.contains("numbers without a unit are in metres") && text.contains(unit), "{text}");
    }
}

/// As many streaklines as a count may ask for, by their spacing: the good case is 1 m wide.
#[test]
fn a_spacing_makes_no_more_lines_than_a_count_may() {
    let with =
        |spacing: &str| parse(&format!("{GOOD}[streaklines]\nspacing = \"{spacing}\"\n"), Path::new("case.toml"));
    assert!(with("0.11 mm").into_result().is_ok());
    let error = with("1 nm").into_result().unwrap_err().to_string();
    assert!(error.contains("more than 10000 streaklines") && error.contains("at least"), "{error}");
}

/// TOML allows escapes for control characters; printed, they would steer a terminal.
#[test]
fn names_hold_no_control_characters() {
    let text = GOOD.replace("Two piers", "Two\\u001b[31m piers\\n").replace("shoulder", "shou\\u0007lder");
    let case = good(&text);
    assert_eq!((case.title.as_str(), case.probes[0].name.as_str()), ("Two\u{fffd}[31m piers ", "shou\u{fffd}lder"));
}

/// A bubble is an obstacle with a rim and without a tail; what stands beside what it cannot have is told of with its line.
#[test]
fn bubbles_have_rims_and_no_tails() {
    use twinplate::geometry::{Rim, TailChoice};
    let rims = [
        ("", None),
        ("bubble = false\n", None),
        ("bubble = true\n", Some(Rim::Free)),
        ("bubble = true\nedge = \"free\"\n", Some(Rim::Free)),
        ("edge = \"solid\"\nbubble = true\n", Some(Rim::Solid)),
        ("bubble = true\non_wall = \"lower\"\n", Some(Rim::Free)),
    ];
    for (keys, rim) in rims {
        let case = good(&with(
            15,
            &format!("{keys}ellipse = {{ centre = [1.3, 0.6], semi_axes = [0.18, 0.1], angle = -12 }}"),
        ));
        assert_eq!(case.obstacles[1].bubble, rim, "{keys}");
        assert_eq!(case.obstacles[1].tail, if rim.is_some() { TailChoice::None } else { TailChoice::Clear }, "{keys}");
    }
    for (keys, line, said) in [
        ("edge = \"solid\"", 15, "this obstacle is none"),
        ("bubble = false\nedge = \"free\"", 16, "add bubble = true"),
        ("bubble = true\ntail = [1.1, 0.5]", 16, "tail stands beside bubble"),
        ("bubble = true\ntail = false", 16, "leave tail out"),
        ("bubble = 1", 15, "bubble"),
        ("bubble = true\nedge = \"slippery\"", 16, "edge"),
    ] {
        let text =
            with(15, &format!("{keys}\nellipse = {{ centre = [1.3, 0.6], semi_axes = [0.18, 0.1], angle = -12 }}"));
        let problems = read(&text).problems;
        assert_eq!(lines(&problems), [line], "{keys}: {problems}");
        assert!(problems.to_string().contains(said), "{keys}: {problems}");
    }
}

/// Where it meets an obstacle fluid stays between the two; in a gap wider than itself it is no disc.
#[test]
fn bubbles_that_cannot_be_are_told_of() {
    let planned = |keys: &str, centre: [f64; 2], diameter: f64| {
        let case = good(&with(15, &format!("{keys}circle = {{ centre = {centre:?}, diameter = {diameter} }}")));
        let mut problems = Problems::default();
        twinplate::geometry::Plan::new(&case, &mut problems);
        problems.to_string()
    };
    // the first pier reaches from 0.46 to 0.74
    for (centre, keys, said) in [
        ([0.84, 0.45], "bubble = true\n", "\"first pier\" and \"obstacle 2\" meet"),
        ([0.8, 0.45], "bubble = true\n", "part them by a tenth of the gap"),
        ([0.8, 0.45], "", "merge them into one outline"),
        ([0.6, 0.45], "bubble = true\n", "stands inside"),
    ] {
        let told = planned(keys, centre, 0.2);
        assert!(told.contains(said), "{centre:?} {keys}: {told}");
    }
    assert_eq!(planned("bubble = true\n", [1.3, 0.6], 1.01e-3), "");
    let told = planned("bubble = true\n", [1.3, 0.6], 0.99e-3);
    assert!(told.contains("\"obstacle 2\" is a bubble 0.99 mm large in a gap of 1 mm"), "{told}");
    // a post so small is merely warned of
    assert_eq!(planned("", [1.3, 0.6], 0.99e-3), "");
}

/// Trapped air is read back as it was written, whatever the way numbers are stored: places to the last bit.
#[test]
fn trapped_air_is_read_as_it_is_written() {
    use twinplate::input::drawing::{ReadOptions, read_drawing};
    use twinplate::report::vtk::{Array, Data, Encoding, Fields, write_vtp};
    let folder = tempfile::tempdir().unwrap();
    // enough places for two blocks of compressed bytes
    let ring = |x: f64, y: f64, r: f64, count: usize| -> Vec<[f64; 3]> {
        let at = |k: usize| (std::f64::consts::TAU * (k % count) as f64 / count as f64).sin_cos();
        (0..=count).map(|k| [x + r * at(k).1, y + r * at(k).0, 0.0]).collect()
    };
    let lines = [ring(0.1, 0.1, 0.02, 12_000), ring(0.2, 0.05, 0.005, 40), vec![[0.0; 3], [0.1, 0.0, 0.0]]];
    let pocket = [2, 1, 3];
    let cell = [Array { name: "pocket", unit: "1", data: Data::Int32(&pocket) }];
    for encoding in [Encoding::Base64, Encoding::Raw, Encoding::Compressed] {
        let file = folder.path().join("trapped.vtp");
        write_vtp(&file, &lines, &Fields { cell: &cell, encoding, ..Fields::default() }).unwrap();
        let every = ReadOptions { every: true, ..ReadOptions::default() };
        let drawing = read_drawing(&file, &every).unwrap_or_else(|problems| panic!("{encoding:?}: {problems}"));
        assert_eq!(drawing.loops.iter().map(|l| l.name.as_str()).collect::<Vec<_>>(), ["pocket 2", "pocket 1"]);
        for (l, line) in drawing.loops.iter().zip(&lines) {
            assert_eq!(l.curves.len(), line.len() - 1, "{encoding:?}");
            let starts: Vec<[f64; 2]> = l.curves.iter().map(|curve| curve.point(0.0)).collect();
            assert!(line.iter().all(|p| starts.contains(&[p[0], p[1]])), "{encoding:?}");
        }
        // cut off anywhere it is told of
        let bytes = std::fs::read(&file).unwrap();
        for part in [0.1, 0.5, 0.9] {
            std::fs::write(&file, &bytes[..(part * bytes.len() as f64) as usize]).unwrap();
            assert!(read_drawing(&file, &every).is_err(), "{encoding:?} {part}");
        }
    }
}
