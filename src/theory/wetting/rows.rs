//! Rows of the wetting of a case: its angles and numbers, the verdict for every obstacle, and what helps.

use super::changes::{Changed, what_helps};
use super::conditions::{Conditions, Picture};
use super::kept::{Kept, NONE, OUTSIDE};
use super::law::{tension_factor, wicks};
use super::verdict::Verdict;
use crate::base::Result;
use crate::base::row::{Kind, Row, Section};
use crate::base::units::{Dimension, significant};
use crate::geometry::{Plan, Side};

const AREA: Kind = Kind::Unit("m2", 1e-6, "mm2");
const GENTLE: &str = "sharp edges, clean sides, advancing angles; radii in the plane far above the gap";
const LAW: &str = "derived for a slow level front; speed and tilt by a fit to runs, n from 0.06 to 60";

/// The sections of a case: angles and numbers, one entry for each obstacle, one for each change.
///
/// # Errors
/// As [`super::verdicts`].
pub fn sections(plan: &Plan, conditions: &Conditions) -> Result<Section> {
    if plan.rectangle().is_none() {
        let note = "The closed forms of air that stays at obstacles hold between two straight walls: in this cell the computed front alone tells.";
        return Ok(numbers(conditions, plan.length_of(Side::Inlet)).noted(vec![note.to_owned()]));
    }
    let all = what_helps(plan, conditions)?;
    let verdicts = all.first().map(|first| first.verdicts.clone()).unwrap_or_default();
    let width = plan.bounds().map_or(0.0, |[low, high]| high[1] - low[1]);
    let mut section = numbers(conditions, width);
    section
        .notes
        .extend(verdicts.iter().flat_map(|one| one.words.iter().map(|words| format!("{}: {words}", one.name))));
    let obstacles = Section::table("obstacles", "Air that stays", verdicts.iter().map(obstacle));
    let changes = Section::table("changes", "What helps", all.iter().map(change));
    Ok(section.with(vec![obstacles, changes]))
}

/// Angles and numbers of a filling in a cell of a width, m.
pub fn numbers(conditions: &Conditions, width: f64) -> Section {
    let Conditions { side_angle, seal_angle, plate_angle, .. } = *conditions;
    let reach = conditions.radius_number(width);
    let concus = "Concus & Finn 1969 (Proc. Natl. Acad. Sci. 63, 292; recalled)";
    let rows = vec![
        Row::new(
            "front_tension_factor",
            "tension of the front over gamma b",
            tension_factor(plate_angle),
            Kind::Number,
        )
        .means(
            "c = ((pi/2 - theta)/cos theta + sin theta)/2",
            "derived; Park & Homsy 1984 for theta = 0 (recalled)",
            GENTLE,
        ),
        Row::new(
            "side_angle_in_plane_deg",
            "angle at obstacles in the plane",
            conditions.side().angle().to_degrees(),
            Kind::Degrees,
        )
        .means("cos theta_e = cos theta_side/c(theta_plate)", "derived: Young's law in the plane", GENTLE),
        Row::new(
            "seal_angle_in_plane_deg",
            "angle at seals in the plane",
            conditions.seal().angle().to_degrees(),
            Kind::Degrees,
        )
        .means("cos theta_e = cos theta_seal/c(theta_plate)", "derived: Young's law in the plane", GENTLE),
        Row::new("wicks_at_obstacles", "liquid wicks along obstacles", wicks(side_angle, plate_angle), Kind::Number)
            .means("theta_side + theta_plate below 90 deg", concus, "right-angled corners without a fillet"),
        Row::new("wicks_at_seals", "liquid wicks along seals", wicks(seal_angle, plate_angle), Kind::Number).means(
            "theta_seal + theta_plate below 90 deg",
            concus,
            "right-angled corners without a fillet",
        ),
        Row::new("viscous_over_in_plane_tension", "viscous over in-plane capillary pressure", reach, Kind::Number)
            .means(
                "N_r = 12 mu U r^2/(c gamma b^2), r = H/(1 - cos theta_wall), H half the width",
                "derived",
                "above 100 viscous, below 10 capillary (computed)",
            ),
        Row::new("picture", "picture of the front that applies", Picture::of(reach).key(), Kind::Number).means(
            "by N_r: viscous, both or capillary",
            "computed",
            "lone obstacles",
        ),
        Row::new(
            "front_gradient_pa_per_m",
            "rise of the pressure at the front",
            conditions.gradient()[0],
            Kind::Unit("Pa/m", 1.0, "Pa/m"),
        )
        .means(
            "G = rho g sin(alpha) + (2 gamma cos(theta_plate)/b^2) db/dx; positive levels the front",
            "derived",
            "small tapers",
        ),
        Row::new(
            "entry_head_m",
            "head to enter",
            conditions.entry_head().unwrap_or(f64::NAN),
            Kind::Of(Dimension::Length),
        )
        .means("2 gamma |cos theta|/(rho g b); plates that repel", "Young and Laplace", GENTLE),
        Row::new(
            "washburn_length_1_s_m",
            "filled by itself in a second",
            conditions.washburn_length(1.0).unwrap_or(f64::NAN),
            Kind::Of(Dimension::Length),
        )
        .means(
            "sqrt(gamma b cos(theta) t/(3 mu)); plates that wet, level",
            "Washburn 1921 (Phys. Rev. 17, 273), slit",
            "after the time rho b^2/(12 mu)",
        ),
        Row::new(
            "moving_angle_deg",
            "contact angle of the plates in motion",
            conditions.moving_angle().to_degrees(),
            Kind::Degrees,
        )
        .means(
            "theta^3 + 9 Ca ln(b/2 lambda), logarithm 12",
            "Voinov 1976; Cox 1986 (J. Fluid Mech. 168, 169; recalled)",
            "Ca below 0.1",
        ),
    ];
    Section::finite("wetting", "Wetting", rows).noted(vec![Picture::of(reach).words().to_owned()])
}

fn pocket_rows(kept: &Kept, keys: [&'static str; 5], name: &'static str) -> Vec<Row> {
    let mut rows = vec![Row::new(keys[0], name, kept.key(), Kind::Number).means(
        "what a front under tension leaves; a real side can keep air by rough edges and by hysteresis all the same",
        LAW,
        GENTLE,
    )];
    if let Some(pocket) = kept.pocket() {
        let of = |key: &'static str, name: &'static str, value: f64| {
            Row::new(key, name, value, AREA).digits(2).means(
                "area of the air",
                LAW,
                "band: a quarter, more where words say why",
            )
        };
        rows.push(of(keys[1], "area", pocket.area));
        rows.push(of(keys[2], "least", pocket.band_low).full());
        rows.push(of(keys[3], "most", pocket.band_high).full());
        let length = Kind::Of(Dimension::Length);
        rows.push(Row::new(keys[4], "vent at", pocket.tip, length).means("where the pocket ends", LAW, GENTLE).full());
        // never twice in one entry: the place stands with the words
    }
    rows
}

fn obstacle(verdict: &Verdict) -> Vec<Row> {
    let mut rows = vec![Row::new("obstacle", "obstacle", verdict.name.clone(), Kind::Number)];
    rows.push(Row::new("form", "taken as", verdict.form.key(), Kind::Number));
    let rear = ["kept", "kept_area_m2", "kept_least_m2", "kept_most_m2", "kept_tip_m"];
    let front = ["front", "front_area_m2", "front_least_m2", "front_most_m2", "front_tip_m"];
    rows.extend(pocket_rows(&verdict.kept, rear, "behind or in it"));
    rows.extend(pocket_rows(&verdict.front_pocket, front, "before it"));
    rows.extend(verdict.lead.map(|lead| {
        Row::new("lead_of_wide_side_m", "lead of the wide side", lead, Kind::Of(Dimension::Length)).digits(2).means(
            "a (a kappa_narrow - a kappa_wide)/N: how far its front is ahead before the narrow side passes",
            "derived estimate",
            "round posts off the middle",
        )
    }));
    rows
}

/// What stays at an obstacle in few words.
fn said(verdict: &Verdict) -> String {
    if verdict.kept == Kept::Outside {
        return format!("{}: {OUTSIDE}", verdict.name);
    }
    let pockets = [&verdict.kept, &verdict.front_pocket].into_iter().filter_map(|kept| kept.pocket());
    let parts: Vec<String> =
        pockets.map(|pocket| format!("{} mm2 {}", significant(1e6 * pocket.area, 2), pocket.place.words())).collect();
    if parts.is_empty() {
        format!("{}: {NONE}", verdict.name)
    } else {
        format!("{}: {}", verdict.name, parts.join(", "))
    }
}

fn change(changed: &Changed) -> Vec<Row> {
    let total = changed.total();
    let of = |pick: fn(&super::changes::Total) -> f64| total.as_ref().map_or(f64::NAN, pick);
    let area = |key: &'static str, name: &'static str, value: f64| {
        Row::new(key, name, value, AREA).digits(2).means("air at all obstacles together", LAW, GENTLE)
    };
    let words: Vec<String> = changed.verdicts.iter().map(said).collect();
    let rows = [
        Row::new("change", "filled", changed.change.name(), Kind::Number),
        area("air_area_m2", "air", of(|total| total.area)),
        area("air_least_m2", "least", of(|total| total.low)).full(),
        area("air_most_m2", "most", of(|total| total.high)),
        Row::new("where", "where", words.join("; "), Kind::Number),
    ];
    rows.into_iter().filter(|row| row.value.is_finite()).collect()
}

#[cfg(test)]
mod tests {
    use super::super::conditions::tests::water;
    use super::super::outline::tests::{cell, with_ellipse};
    use super::*;
    use crate::base::row::{Value, walk};

    /// Every number has its formula, source and range; a pocket its band; none is never said without the model.
    #[test]
    fn rows_say_what_the_verdicts_say() {
        let plan = with_ellipse(with_ellipse(cell(&[]), [6.0, 2.6], [1.0; 2]), [15.0, 2.5], [0.5; 2]);
        let conditions = Conditions { gap: 0.01, speed: 1e-6, ..water() };
        let section = sections(&plan, &conditions).unwrap();
        let all = super::super::verdicts(&plan, &conditions).unwrap();
        for (k, verdict) in all.iter().enumerate() {
            let pocket = verdict.kept.pocket().unwrap();
            let number = |key: &str| section.number(&format!("obstacles.{k}.{key}"));
            assert_eq!(number("kept_area_m2"), Some(pocket.area));
            assert_eq!(
                (number("kept_least_m2"), number("kept_most_m2")),
                (Some(pocket.band_low), Some(pocket.band_high))
            );
        }
        assert!(section.number("changes.uphill 1 deg.air_area_m2") < section.number("changes.as it is.air_area_m2"));
        assert_eq!(section.number("changes.with surfactant.air_area_m2"), Some(0.0));
        let mut seen = 0;
        walk(std::slice::from_ref(&section), &mut |path, row| {
            seen += 1;
            if let Value::Number(x) = row.value {
                assert!(
                    x.is_finite() && !row.meaning.is_empty() && !row.source.is_empty() && !row.range.is_empty(),
                    "{path}"
                );
            }
            if let Value::Text(text) = &row.value {
                assert!(!text.contains("none") || text.contains(NONE), "{path} {text}");
            }
        });
        assert!(seen > 40, "{seen}");
        assert!(section.notes.iter().any(|note| note.contains("narrower") || note.contains("rear")));
        // what wicks is outside the model, with no area
        let wicking = sections(&plan, &Conditions { plate_angle: 0.2, side_angle: 1.0, ..conditions }).unwrap();
        assert_eq!(wicking.number("changes.as it is.air_area_m2"), None);
        assert_eq!(wicking.row("obstacles.0.kept").unwrap().value, Value::Word("outside_this_model"));
        assert!(wicking.row("changes.as it is.where").unwrap().shown().contains(OUTSIDE));
    }
}
