//! What to do at the bench, and what a reader of a filling must know.

use super::sections::at_obstacle;
use super::{Filled, Picture};
use crate::base::row::Section;
use crate::base::units::{Dimension, significant};
use crate::base::warning::{Code, Warning};
use crate::input::case::FillDrive;
use crate::theory::wetting;

/// Air smaller than this, in gaps squared, is no pocket between plates.
const SPECK: f64 = 1.0;

impl Filled {
    /// Warnings of the filling.
    pub(super) fn judged(&self) -> Vec<Warning> {
        let (conditions, course) = (&self.conditions, &self.course);
        let mut list = wetting::cautions(conditions, self.study.case.cell.inlet_width());
        if self.applies() == wetting::Picture::Capillary && course.picture == Picture::Viscous {
            let why = self.refused.as_ref().map_or(String::new(), |why| format!(" ({why})"));
            let matter = format!(
                "surface tension shapes this front (N_r = {}, below {}), and it was not computed{why}: where the viscous front cuts air off \
                 is not where it stays",
                significant(self.radius_number(), 3),
                wetting::CAPILLARY
            );
            let remedy = match self.study.plan.rectangle() {
                Some(_) => "go by the verdict for each obstacle; arrival times hold as those of the flow",
                None => "arrival times hold as those of the flow",
            };
            list.push(Warning::new(Code::FrontNotComputed, matter, remedy).value(self.radius_number()));
        }
        for air in course.kept.iter().filter(|air| air.area > SPECK * conditions.gap.powi(2)) {
            let [x, y] = air.at.map(|x| Dimension::Length.show_to(x, 3));
            let matter =
                format!("{} mm2 of air stay{} about ({x}, {y})", significant(1e6 * air.area, 3), at_obstacle(air));
            let remedy =
                "drill a vent there, tilt the cell so that it is the highest place, or add a drop of surfactant";
            list.push(Warning::new(Code::AirStays, matter, remedy).at(air.at).value(air.area));
        }
        list
    }

    /// How to fill this cell, step by step.
    pub fn fill_it(&self) -> Section {
        let (case, conditions, course) = (&self.study.case, &self.conditions, &self.course);
        let length = |x: f64| Dimension::Length.show_to(x, 3);
        let mut steps = vec![
            "Clean plates, sides and seals, and let them dry: the front sticks at dust and fingerprints, and air stays there.".to_owned(),
            "Boil the water and let it cool under a lid, or stand it under vacuum: water from the tap gives off bubbles for hours \
             (practice)."
                .to_owned(),
        ];
        steps.push(if conditions.side_angle > std::f64::consts::FRAC_PI_2 {
            format!(
                "The sides repel the fluid ({} deg): coat or rinse them, or add surfactant, until the angle is below 90 deg; a lone \
                 obstacle then keeps none by this model.",
                significant(conditions.side_angle.to_degrees(), 3)
            )
        } else {
            "A drop of surfactant helps contact lines over rough edges; it also lowers the tension, which changes dye and bubbles.".to_owned()
        });
        steps.push(if conditions.tilt == [0.0; 2] {
            "Raise the outlet end by a degree or two while filling, so that the fluid climbs: its weight levels the front.".to_owned()
        } else {
            format!(
                "Tilt the cell by {} deg as the case has it; level it again when it is full.",
                significant(case.filling.tilt.to_degrees(), 3)
            )
        });
        let speed = Dimension::Speed.show_to(conditions.speed, 3);
        let time = Dimension::Time.show_to(course.end, 3);
        steps.push(match self.drive {
            FillDrive::Flow => format!("Fill at the flow of the case ({speed}): it takes {time}."),
            FillDrive::Head => {
                format!("Fill under the head of the case: it takes {time}; the front starts fast and slows down.")
            }
        });
        if let Some(last) = course.last.first() {
            let [x, y] = last.at.map(length);
            steps.push(format!(
                "The place that fills last is ({x}, {y}): a vent of a millimetre there, and one at each end of the outlet, let the air out; \
                 plug them when fluid comes."
            ));
        }
        steps.push(
            "When it is full, tap the plate and let it run at several times the flow: bubbles that move leave by the outlet. Those that \
             stay belong into the case as obstacles with bubble = true."
                .to_owned(),
        );
        let mut section = Section::new("fill_it", "Fill it", Vec::new()).noted(steps);
        section.cautions = vec![
            "Never close the outlet while a pump runs or a head stands: the pressure can burst seals and plates. Wear eye protection.",
            "Spilt water and surfactant make floors slippery: keep a tray under the cell and wipe up at once. Keep pumps and lamps off the wet.",
            "Boiled water scalds: let it cool before you carry it. Carbon dioxide used to flush a dry cell can suffocate: only in a \
             ventilated room, by the rules of your house.",
        ];
        section
    }

    /// Whether all is well, the verdict in a few words, and in sentences.
    pub fn headline(&self) -> (bool, &'static str, Vec<String>) {
        let good = self.course.kept.iter().all(|air| air.area <= SPECK * self.conditions.gap.powi(2));
        let words = if good { "No air stays by this model" } else { "Air stays in the cell" };
        (good, words, vec![self.verdict()])
    }
}
