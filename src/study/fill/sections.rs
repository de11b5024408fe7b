//! A filling as sections of rows.

use super::{Filled, Kept, Moment, Picture};
use crate::base::plane::{dot, way};
use crate::base::row::{Detail, Kind, Row, Section, Value};
use crate::base::units::{Dimension, GRAVITY, significant};
use crate::base::warning;
use crate::geometry::Side;
use crate::input::case::FillDrive;
use crate::theory::wetting;

const LENGTH: Kind = Kind::Of(Dimension::Length);
const TIME: Kind = Kind::Of(Dimension::Time);
const AREA: Kind = Kind::Of(Dimension::Area);

impl Filled {
    /// The report: the filling, then the full cell, then warnings of both.
    pub fn report(&self) -> Vec<Section> {
        let mut sections = self.study.unwarned();
        // the case stays first, and what was asked comes before what it rests on
        let first = sections.iter().position(|section| section.key == "mesh").unwrap_or(0);
        sections.insert(first, self.section());
        sections.insert(first + 1, self.fill_it());
        sections.extend(warning::sections(&self.all_warnings()));
        sections
    }

    /// N_r: viscous over capillary pressure across the radius that the channel gives the front.
    pub fn radius_number(&self) -> f64 {
        self.conditions.radius_number(self.study.case.cell.inlet_width())
    }

    /// Which picture of the front applies.
    pub fn applies(&self) -> wetting::Picture {
        wetting::Picture::of(self.radius_number())
    }

    /// What comes of it, in two sentences.
    pub fn verdict(&self) -> String {
        let course = &self.course;
        let time = Dimension::Time.show_to(course.end, 3);
        let air = match course.kept.as_slice() {
            [] => "no air is cut off by this front".to_owned(),
            [one] => format!("{} mm2 of air stay{}", significant(1e6 * one.area, 3), at_obstacle(one)),
            several => {
                let area: f64 = several.iter().map(|air| air.area).sum();
                format!("{} pieces of air stay, {} mm2 in all", several.len(), significant(1e6 * area, 3))
            }
        };
        let applies = match (self.applies(), course.picture) {
            (wetting::Picture::Capillary, Picture::Capillary) => {
                "Tension and contact angles shape the front, as computed."
            }
            (applies, _) => applies.words(),
        };
        format!("The cell is full after {time}; {air}. {applies}")
    }

    fn section(&self) -> Section {
        let (course, conditions) = (&self.course, &self.conditions);
        let half = 0.5 * self.study.reynolds.reference_length;
        let mut rows = vec![
            Row::new("verdict", "", self.verdict(), Kind::Number),
            Row::new("model", "front computed", course.picture.key(), Kind::Number),
            Row::new("applies", "front that applies", self.applies().key(), Kind::Number).means(
                "by N_r: viscous above 100, capillary below 10, both between",
                "derived, and computed fronts",
                "one obstacle amid the channel",
            ),
            Row::new("number", "N", conditions.number(half), Kind::Number).digits(3).means(
                "12 mu U a^2/(c gamma b^2), a half the reference length: viscous over in-plane capillary pressure",
                "Park & Homsy 1984 (J. Fluid Mech. 139, 291; recalled) for the in-plane tension",
                "radii in the plane far above the gap",
            ),
            Row::new("radius_number", "N_r", self.radius_number(), Kind::Number).digits(3).means(
                "the same over the radius H/(1 - cos theta_wall) that the channel gives the front, H half its width",
                "derived",
                "",
            ),
            Row::new("bond", "Bo", conditions.bond(half), Kind::Number).digits(3).full().means(
                "G a^2/(c gamma), G = rho g sin(alpha) + (2 gamma cos(theta)/b^2) db/dx; positive: the front is levelled",
                "derived",
                "",
            ),
            Row::new("time_s", "full after", course.end, TIME).means(
                "when nothing is left that the front can reach",
                "the computed front",
                self.driven(),
            ),
            Row::new("head_needed_m", "head needed at the inlet", self.head_needed(), LENGTH).means(
                "largest pressure at the inlet over rho g, above the air; negative: the plates draw the fluid in and it must be held back",
                "Young and Laplace; Darcy's law; the weight of the slope",
                self.driven(),
            ),
            Row::new("mass_residual", "balance of volumes", course.mass_residual, Kind::Number).digits(2).means(
                "what is missing of inflow = wet volume + outflow, over the volume of the cell",
                "conservation of mass",
                "rounding, if all is well",
            ),
        ];
        rows.extend(course.moment_residual.map(|residual| {
            Row::new("moment_residual", "moment identity", residual, Kind::Number).digits(2).means(
                "what is missing of int b phi dA + phi V_out = Q_phi int (p_in - p_front) dt, phi the ideal potential",
                "Green's second identity",
                "one pressure along the front, before air is held",
            )
        }));
        rows.push(Row::script("welds_m", Value::List(course.welds.iter().map(|&at| Value::from(at)).collect())));
        rows.push(Row::script("solves", course.solves));
        rows.push(Row::new(
            "last_to_fill_m",
            "last places to fill",
            Value::List(course.last.iter().map(|last| Value::from(last.at)).collect()),
            LENGTH,
        ));
        let fronts = Section::table("fronts", "The front at kept moments", course.moments.iter().map(moment));
        let trapped = Section::table("trapped", "Air that stays", course.kept.iter().map(kept));
        let mut parts = vec![trapped, self.wetting.clone(), fronts.at(Detail::Full)];
        parts.extend(self.other.as_ref().map(|other| {
            let rows = vec![Row::new("time_s", "full after", other.end, TIME)];
            let trapped = Section::table("trapped", "Air that stays by the other picture", other.kept.iter().map(kept));
            Section::new(other.picture.key(), format!("The {} front", other.picture.key()), rows).with(vec![trapped])
        }));
        Section::new("filling", "Filling", rows).with(parts)
    }

    fn driven(&self) -> &'static str {
        match self.drive {
            FillDrive::Flow => "at the flow of the full cell",
            FillDrive::Head => "at the head of the full cell",
        }
    }

    /// Largest pressure at the inlet over ρ g, m; under a held head the least that lets the fluid in.
    fn head_needed(&self) -> f64 {
        let conditions = &self.conditions;
        let weight = conditions.density * GRAVITY;
        let pressure = match self.drive {
            FillDrive::Flow => self.course.moments.iter().map(|m| m.inlet_pressure).fold(f64::NEG_INFINITY, f64::max),
            FillDrive::Head => {
                let ends = [Side::Inlet, Side::Outlet].map(|side| self.study.plan.end(side).map(|end| end.middle()));
                let rise = match ends {
                    [Some(inlet), Some(outlet)] => dot(conditions.tilt, way(inlet, outlet)).max(0.0),
                    _ => 0.0,
                };
                weight * rise - conditions.capillary_pressure()
            }
        };
        pressure / weight
    }
}

pub(super) fn at_obstacle(air: &Kept) -> String {
    air.obstacle.as_ref().map_or(String::new(), |name| format!(" at \"{name}\""))
}

fn moment(moment: &Moment) -> Vec<Row> {
    vec![
        Row::new("time_s", "time", moment.time, TIME),
        Row::new("impulse_m2", "impulse", moment.impulse, AREA),
        Row::new("wet_area_m2", "wet area", moment.wet_area, AREA),
        Row::new("conductance", "conductance", moment.conductance, Kind::Number),
    ]
}

fn kept(air: &Kept) -> Vec<Row> {
    let mut rows = vec![
        Row::new("obstacle", "at", air.obstacle.clone().unwrap_or_else(|| "no edge".to_owned()), Kind::Number),
        Row::new("x_m", "x", air.at[0], LENGTH),
        Row::new("y_m", "y", air.at[1], LENGTH),
        Row::new("area_m2", "area", air.area, AREA),
        Row::new("volume_m3", "volume", air.volume, Kind::Volume),
        Row::new("time_s", "cut off after", air.time, TIME),
    ];
    if air.leaves_above.is_finite() {
        rows.push(Row::new("leaves_above_m_per_s", "leaves above", air.leaves_above, Kind::Of(Dimension::Speed)));
    }
    rows
}
