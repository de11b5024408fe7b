//! The cell in numbers, as all sections of the sheet read it.

use super::Section;
use crate::base::plane::Rect;
use crate::base::units::fluid::{Properties, glycerol_water, water};
use crate::input::case::{Case, Fluid, FluidKind, PlateEdges, RigSettings, Seeding, Tolerance};

/// The solved cell in SI units.
#[derive(Debug, Clone)]
pub struct State {
    /// Length of the channel as wide as the inlet that holds as much as the empty cell, m: the length of a rectangle.
    pub length: f64,
    /// Width of the inlet, m.
    pub width: f64,
    /// Squares of the empty cell: length over width of a rectangle, by one-dimensional estimate in other cells.
    pub squares: f64,
    /// The box round the cell, m: the plates.
    pub plates: Rect,
    /// Area of the empty cell, m2.
    pub area: f64,
    /// Whether the cell is a rectangle.
    pub is_rectangle: bool,
    /// Gap at the middle of the cell, m.
    pub gap: f64,
    /// Volume of the fluid between the plates, m3.
    pub volume: f64,
    /// Reference length of the obstacle and reduced Reynolds numbers, m.
    pub obstacle: f64,
    /// Whether there is an obstacle.
    pub has_obstacles: bool,
    /// The fluid.
    pub fluid: Fluid,
    /// Mean speed over the inlet with the edge layer, m/s.
    pub speed: f64,
    /// Flow rate with the edge layer, m3/s.
    pub flow: f64,
    /// Pressure drop with the edge layer, Pa.
    pub drop: f64,
    /// Pressure drop of the ideal pattern at the same flow, Pa.
    pub ideal_drop: f64,
    /// How well the drop at the given flow, or the flow at the given drop, is known: bracket, outline and second order of the edge
    /// layer together, fraction.
    pub known_to: f64,
    /// Whether the case gives the pressure drop or the head, so that the flow follows.
    pub drop_given: bool,
    /// Number of dye lines.
    pub lines: usize,
    /// What the user can live with.
    pub tolerance: Tolerance,
    /// Largest streakline shift in the observation region by the cell alone, m.
    pub shift: f64,
    /// Settings of the rig.
    pub rig: RigSettings,
}

impl State {
    /// Kinematic viscosity ν, m2/s.
    pub fn nu(&self) -> f64 {
        self.fluid.kinematic_viscosity()
    }

    /// Sheet conductivity K = b³/(12 μ): flow per width and pressure gradient, m3/(Pa s).
    pub fn conductivity(&self) -> f64 {
        self.gap.powi(3) / (12.0 * self.fluid.viscosity)
    }

    /// Mobility b²/(12 μ): mean speed per pressure gradient, m2/(Pa s).
    pub fn mobility(&self) -> f64 {
        self.gap * self.gap / (12.0 * self.fluid.viscosity)
    }

    /// Time a fluid column of the mean speed takes from inlet to outlet, s.
    pub fn transit(&self) -> f64 {
        self.length / self.speed
    }

    /// Distance of neighbouring dye lines at the inlet for equal flow between them, m.
    pub fn line_spacing(&self) -> f64 {
        self.width / self.lines as f64
    }

    /// Mean gauge pressure under the plates, half the drop and the outlet's level, Pa.
    pub fn load(&self) -> f64 {
        0.5 * self.drop + self.outlet_pressure()
    }

    /// Gauge pressure at the outlet, Pa.
    pub fn outlet_pressure(&self) -> f64 {
        self.fluid.density * crate::base::units::GRAVITY * self.rig.outlet_level.value
    }

    /// Relative change of the viscosity per kelvin, 1/K, by central differences over one kelvin; none if the case gives viscosity and
    /// density themselves, or at the ends of the range.
    pub fn viscosity_slope(&self) -> Option<f64> {
        let (t, at): (f64, &dyn Fn(f64) -> Option<Properties>) = match self.fluid.kind {
            FluidKind::Stated => return None,
            FluidKind::Water { temperature } => (temperature, &|t| water(t).ok()),
            FluidKind::GlycerolWater { fraction, temperature } => {
                (temperature, &move |t| glycerol_water(fraction, t).ok())
            }
        };
        Some((at(t + 0.5)?.viscosity / at(t - 0.5)?.viscosity).ln())
    }

    /// Whether the plates are clamped.
    pub fn clamped(&self) -> bool {
        self.rig.plate_edges.value == PlateEdges::Clamped
    }
}

impl State {
    /// The sections of the sheet, in the order of the work at the bench.
    pub fn sections(&self) -> Vec<Section> {
        let mut list = vec![self.flow_section()];
        list.extend(self.tubing_section());
        list.extend(self.calibration_section());
        list.extend([
            self.times_section(),
            self.plates_section(),
            self.dye_section(),
            self.tracers_section(),
            self.filling_section(),
        ]);
        list
    }
}

/// The number of dye lines of a case: its own in `[rig]`, else that of its streaklines.
pub(super) fn dye_lines(case: &Case) -> usize {
    let streaklines = match &case.streaklines.seeding {
        Seeding::Count(count) => *count,
        Seeding::At(starts) => starts.places.len(),
        Seeding::Spacing(spacing) => (case.cell.inlet_width() / spacing).round().clamp(1.0, 10_000.0) as usize,
    };
    case.rig.dye_lines.unwrap_or(streaklines)
}

impl State {
    /// The parts a case knows before it is solved; speed, flow and pressures are left at zero.
    pub fn of_case(case: &Case, obstacle: f64) -> State {
        State {
            length: case.cell.mean_way(),
            width: case.cell.inlet_width(),
            squares: case.cell.shape.squares(),
            plates: case.cell.bounds(),
            area: case.cell.area(),
            is_rectangle: case.cell.shape.rectangle().is_some(),
            gap: case.cell.middle_gap(),
            volume: 0.0,
            obstacle,
            has_obstacles: !case.obstacles.is_empty(),
            fluid: case.fluid.clone(),
            speed: 0.0,
            flow: 0.0,
            drop: 0.0,
            ideal_drop: 0.0,
            known_to: 0.0,
            drop_given: false,
            lines: dye_lines(case),
            tolerance: case.tolerance.clone(),
            shift: 0.0,
            rig: case.rig.clone(),
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use std::path::Path;

    /// A cell 400 mm x 200 mm x 1 mm of water at 20 degC at 1 mm/s with a post of 60 mm.
    pub(crate) fn example(rig: &str) -> State {
        let text = format!(
            "[cell]\nlength = 0.4\nwidth = 0.2\ngap = 1e-3\n[fluid]\nname = \"water\"\ntemperature = \"20 degC\"\n[drive]\n\
             mean_speed = 1e-3\n[[obstacle]]\ncircle = {{ centre = [0.2, 0.1], diameter = 0.06 }}\n[rig]\n{rig}\n"
        );
        let case = crate::input::case::parse(&text, Path::new("case.toml")).into_result().unwrap();
        let mut state = State::of_case(&case, 0.06);
        state.speed = 1e-3;
        state.flow = 2e-7;
        state.volume = 8e-5;
        state.drop = 12.0 * state.fluid.viscosity * 1e-3 * 0.4 / 1e-6;
        state.ideal_drop = state.drop;
        state
    }

    /// IAPWS R12-08 values at 0.101325 MPa: 1137.568 at 15 degC and 890.022 uPa s at 25 degC bracket the slope at 20 degC; the central
    /// difference over 10 K of ln μ differs from the slope by h² (ln μ)'''/6, 1 % (Vogel's form of μ).
    #[test]
    fn viscosity_falls_with_temperature() {
        let slope = example("").viscosity_slope().unwrap();
        let wide = (890.022f64 / 1137.568).ln() / 10.0;
        assert!((slope / wide - 1.0).abs() < 0.015, "{slope} {wide}");
    }

    /// A mixture loses more of its viscosity per kelvin than water does: the slope is that of the mixture.
    #[test]
    fn the_mixture_of_the_case_is_the_one_that_warms_up() {
        let mut state = example("");
        let at = |t: f64| glycerol_water(0.4, 273.15 + t).unwrap().viscosity;
        state.fluid.kind = FluidKind::GlycerolWater { fraction: 0.4, temperature: 293.15 };
        let (slope, wide) = (state.viscosity_slope().unwrap(), (at(25.0) / at(15.0)).ln() / 10.0);
        // the slope changes by some hundredths over ten kelvin
        assert!((slope / wide - 1.0).abs() < 0.02, "{slope} {wide}");
        state.fluid.kind = FluidKind::Stated;
        assert_eq!(state.viscosity_slope(), None);
    }
}
