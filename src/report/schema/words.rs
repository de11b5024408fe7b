//! What the keys of a case mean, for its schema.

/// Keys with their meanings, a key alone or with those above it where it means something else there. The help explains them at length.
const MEANINGS: &[(&str, &str)] = &[
    ("title", "what the user calls the case; left out: the name of its file"),
    ("cell", "the cell between the plates"),
    ("cell.length", "length of the cell along the flow, x from the inlet"),
    ("cell.width", "width of the cell across the flow, y from the lower side wall"),
    ("cell.gap", "gap between the inner faces of the plates, or how it varies"),
    ("gap.at", "gap at the middle of the cell"),
    ("gap.slope", "change of the gap per length along x and y"),
    ("gap.bowed", "the plates bow apart under the pressure between them"),
    ("gap.table", "file with measured gaps, columns x, y and gap"),
    ("fluid", "the fluid: a name with its temperature, or density and viscosity"),
    ("fluid.name", "what it is"),
    ("fluid.temperature", "its temperature, 0 to 100 degC"),
    ("glycerol_mass_fraction", "glycerol, fraction by mass"),
    ("glycerol_volume_fraction", "glycerol, fraction by volume before mixing"),
    ("fluid.density", "its density"),
    ("fluid.viscosity", "its dynamic viscosity; one in cSt or mm2/s is kinematic and is multiplied by the density"),
    ("drive", "what drives the flow, exactly one quantity, and the kind of ends"),
    ("mean_speed", "mean speed U over the inlet"),
    ("flow_rate", "volumetric flow rate"),
    ("pressure_drop", "pressure drop between the ends"),
    ("head", "head between the ends, of the fluid itself"),
    ("reduced_reynolds", "reduced Reynolds number U b^2/(nu L)"),
    ("obstacle_reynolds", "obstacle Reynolds number U L/nu"),
    ("gap_reynolds", "gap Reynolds number U b/nu"),
    ("ends", "pressure held at both ends (the usual), or flux given evenly over them"),
    ("reference_length", "the L of Reynolds numbers; left out: the largest extent of an obstacle across the flow"),
    ("obstacle", "an obstacle between the plates, of exactly one shape"),
    ("obstacle.name", "its name; left out: obstacle 1 and so on"),
    ("on_wall", "the side wall that it stands on"),
    ("tail", "place of the corner that is its tail, or false"),
    ("obstacle.bubble", "an air bubble that is held between the plates, drawn by its rim"),
    ("edge", "how the rim of a bubble acts: it slips, or holds the fluid back like a solid"),
    ("circle", "a round post"),
    ("ellipse", "an ellipse"),
    ("polygon", "straight sides, by corners or by their number"),
    ("outline", "an outline by points, or from a file (SVG, DXF, PNG, JPEG, VTP, a list of coordinates)"),
    ("four_digit", "a section of the four-digit family"),
    ("joukowski", "a section from the Joukowski map"),
    ("teardrop", "a round nose tapering to a pointed tail"),
    ("centre", "place of the centre, [x, y]"),
    ("diameter", "diameter"),
    ("semi_axes", "semi-axes along its own x and y"),
    ("angle", "rotation, counter-clockwise; of sections and teardrops nose-up"),
    ("points", "corners or points, [[x, y], ...], in either orientation"),
    ("sides", "number of sides"),
    ("width", "extent along x before turning"),
    ("height", "extent along y before turning"),
    ("smooth", "a periodic cubic spline in place of straight sides"),
    ("outline.file", "the file, relative to the folder of the case"),
    ("as_drawn", "true to size where it is drawn"),
    ("mirror", "mirrored left to right before turning"),
    ("id", "only what has this id"),
    ("layer", "only what stands on this layer"),
    ("every", "every outline becomes an obstacle, instead of the largest alone"),
    ("outline.tolerance", "what is repaired and what gap is closed, as a fraction of the size"),
    ("unit", "unit of the coordinates in the file"),
    ("threshold", "picture: luminance of the edge, 0 to 1"),
    ("tone", "picture: the tone of the obstacle"),
    ("marks", "picture: two places in pixels that are marks_apart apart"),
    ("marks_apart", "picture: distance of the two marks"),
    ("deviation", "picture: largest deviation of the smooth outline, in pixels"),
    ("section", "its four digits, such as 2412"),
    ("chord", "chord"),
    ("nose", "place of the nose, [x, y]"),
    ("closed_tail", "tail closed to an edge"),
    ("thickness", "largest thickness, fraction of the chord"),
    ("camber", "largest camber, fraction of the chord"),
    ("teardrop.length", "length"),
    ("probe", "a place at which numbers are wanted"),
    ("probe.name", "its name; left out: probe 1 and so on"),
    ("at", "place, [x, y]"),
    ("line", "a line along which numbers are wanted: straight, or beside the outline of an obstacle"),
    ("line.name", "its name; left out: line 1 and so on"),
    ("line.from", "place of its start, [x, y]"),
    ("line.to", "place of its end, [x, y]"),
    ("along", "the obstacle whose outline it runs beside"),
    ("distance", "how far off the outline, into the fluid; left out: on it"),
    ("line.points", "points on it, both ends among them; left out: 200"),
    ("mesh", "how fine the mesh is"),
    ("mesh.error", "relative half-width of the bounds at which refinement stops; left out: 1e-3"),
    ("max_triangles", "most triangles; left out: 4 million"),
    ("max_edge", "longest edge"),
    ("growth", "growth of the edges per length away from outlines; left out: 0.3"),
    ("streaklines", "streaklines and their dye"),
    ("streaklines.count", "number of lines, equal flux between neighbours; left out: 24"),
    ("streaklines.spacing", "distance of lines along the inlet"),
    ("streaklines.height", "height of the dye: 0 at mid-gap, -1 and 1 at the plates"),
    ("starts", "needles: heights across the inlet, { x, y } across the cell, or places"),
    ("starts.x", "x of a row of needles"),
    ("starts.y", "their heights across the cell"),
    ("inertia", "how far the series of the inertia departure goes"),
    ("inertia.order", "its order in Re*; left out: 2"),
    ("next_edge_term", "whether the next term of the edge layer's inertia is taken; left out: true"),
    ("curvature_factor", "a factor in its place that is fitted to lone round posts; left out: false"),
    ("tolerance", "the departure from the ideal pattern that one can live with"),
    ("tolerance.speed", "change of speed, fraction of the mean speed; left out: 0.02"),
    ("tolerance.direction", "change of direction; left out: 1 degree"),
    ("tolerance.shift", "shift of streaklines; left out: 0.5 mm"),
    ("share", "share of the observed area that may be beyond; left out: 0.01"),
    ("departure", "where departures are judged"),
    ("edge_band", "fluid nearer than this to a solid edge is left out; left out: three gaps"),
    ("sweep", "one quantity that is run through: a list of increasing values or a range"),
    ("sweep.gap", "gap at the middle of the cell"),
    ("from", "first value"),
    ("to", "last value"),
    ("steps", "number of values with both ends"),
    ("sweep.spacing", "equal differences or equal ratios"),
    ("mean_speed.spacing", "equal differences or equal ratios"),
    ("reduced_reynolds.spacing", "equal differences or equal ratios"),
    ("gap.spacing", "equal differences or equal ratios"),
    ("glycerol_mass_fraction.spacing", "equal differences or equal ratios"),
    ("rig", "what the cell is made of and filled with"),
    ("material", "material of the plates; or give their modulus"),
    ("youngs_modulus", "Young's modulus of the plates, in place of a material"),
    ("poisson_ratio", "Poisson's ratio of the plates"),
    ("plate_density", "density of the plates"),
    ("plate_thickness", "thickness of each plate"),
    ("plate_edges", "how the plates are held at their edges"),
    ("dye_diffusivity", "diffusivity of the dye"),
    ("surface_tension", "surface tension against air"),
    ("contact_angle", "contact angle of the fluid on the plates"),
    ("contact_hysteresis", "advancing minus receding contact angle"),
    ("outlet_level", "height of the outlet's free surface above the plates"),
    ("gap_tolerance", "what the gap may be wrong by"),
    ("temperature_tolerance", "what the temperature may change by, a difference in kelvin, at most 50 K"),
    ("flow_ripple", "what the flow of the pump may vary by"),
    ("dye_lines", "number of dye lines; left out: that of the streaklines"),
    ("dye_density_difference", "density of the dye less that of the fluid"),
    ("rig.tilt", "slope of the cell"),
    ("tracer_diameter", "diameter of tracer particles"),
    ("tracer_density_difference", "density of the tracers less that of the fluid"),
    ("streak_length", "length of the streak that a tracer leaves in one exposure"),
    ("camera_pixels", "pixels of the camera along the longer side of the cell"),
    ("filling", "how the dry cell is filled"),
    ("filling.drive", "what is held while it fills; left out: as the drive of the case"),
    ("filling.from", "where the fluid comes in: over the inlet, or through a round hole in a plate"),
    ("advancing_angle", "advancing contact angle on the plates"),
    ("receding_angle", "receding contact angle on the plates"),
    ("side_angle", "advancing contact angle at the sides of obstacles"),
    ("seal_angle", "advancing contact angle at the side walls"),
    ("filling.tilt", "slope of the cell while it fills"),
    ("tilt_towards", "the side that is raised, or a direction as an angle from x"),
    ("model", "which picture of the front is computed"),
    ("snapshots", "moments that are kept: how many, or times, or impulses"),
    ("time", "times, ascending"),
    ("impulse", "impulses, ascending: the integral over time of b^2/(12 mu) times the pressure behind the front"),
    ("pockets", "what becomes of air that is cut off: it stays, or leaves through the seal"),
    ("bubble", "a bubble that drifts with the flow"),
    ("bubble.name", "its name; left out: bubble 1 and so on"),
    ("films", "whether it leaves films on the plates; left out: true"),
    ("photo", "a photograph of the cell, and what is known of how it was taken"),
    ("photo.file", "the picture, relative to the folder of the case"),
    ("marks_on", "the face of the plate that the marks are on"),
    ("plate_index", "refractive index of the plate that the picture is taken through"),
    ("mark_placed_within", "standard deviation of the places of marks"),
    ("mark_size", "width of a cross, diameter of a dot"),
    ("lens", "whether the camera straightens its pictures"),
    ("dye", "whether the dye takes light away or glows"),
    ("rectify", "whether the picture is written as seen from above"),
    ("mark", "a mark of known place"),
    ("mark.name", "its name"),
    ("pixel", "a rough click at it, pixels of the upright picture from its upper left corner"),
    ("compare", "how measurements are compared with theory"),
    ("nuisance", "what may be off: map, obstacles, taper"),
    ("station", "spacing of stations along a line; left out: 2 mm"),
];

/// What a key at a path means; none for an entry of a list and for the case itself, which have no key.
pub fn meaning(path: &str, key: &str) -> Option<&'static str> {
    if key.is_empty() {
        return None;
    }
    let path = path.replace("[]", "");
    let ends = |known: &str| path == known || path.ends_with(&format!(".{known}"));
    let fitting = MEANINGS.iter().filter(|(known, _)| ends(known));
    fitting.max_by_key(|(known, _)| known.len()).map(|(_, text)| *text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::case::{Question, questions};

    /// Every key that the reader knows has a meaning, every meaning a key, and every key a form.
    #[test]
    fn keys_and_meanings_are_one_to_one() {
        let asked = questions();
        let mut used = std::collections::BTreeSet::new();
        for (path, question) in &asked {
            let Question::Table(_, keys) = question else { continue };
            for key in keys {
                let at = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                let text = meaning(&at, key);
                assert!(text.is_some(), "no meaning is given for the key {at}");
                used.extend(text);
                let has_form = asked.iter().any(|(path, question)| match question {
                    Question::Value(_) | Question::Table(..) => path.starts_with(&at),
                    _ => false,
                });
                assert!(has_form, "no specimen has the key {at}");
            }
        }
        for (key, text) in MEANINGS {
            assert!(used.contains(text), "no table of a case has the key {key}");
        }
    }
}
