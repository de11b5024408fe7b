//! Tracks of particles against theory.

use super::lines::ideal_of;
use super::wish::Wish;
use crate::base::{Point, Result};
use crate::bench::tracks::{Amplitude, Compared, Effect as Added, Flow, Local, compare, verdict};
use crate::input::measured::Track;
use crate::study::Study;
use crate::study::budget::Plates;
use crate::theory::departure::{Contribution, Effect, Scale, View, of_the_plates, total};

/// Standard error of an amplitude from which on the effect is not seen at all.
const UNSEEN: f64 = 0.5;

/// What tracks say.
#[derive(Debug)]
pub struct TracksFound {
    /// The tracks, judged.
    pub compared: Compared,
    /// How much of each effect their directions show; none where they cannot tell it from their own levels.
    pub amplitudes: Vec<(Effect, Option<Amplitude>)>,
    /// In a sentence.
    pub text: String,
}

/// Compares tracks with a study that was solved with its corrections.
pub(super) fn compare_tracks(study: &Study, plates: &Plates, tracks: &[Track], wish: &Wish) -> Result<TracksFound> {
    let ideal = ideal_of(study, plates);
    let mean_speed = study.pattern.drive.mean_speed;
    let wanted: Vec<&Contribution> =
        of_the_plates(&plates.contributions).filter(|contribution| wish.theory.holds(contribution.effect)).collect();
    // the edge layer quickens all that it leaves free, by half a per cent beside piers
    let departure = total(wanted.iter().copied(), plates.ideal.len(), Scale::ONE, View::GapMean);
    let at = |point: Point| -> Option<Local> {
        let found = ideal.at(point, None)?;
        let [x, y] = ideal.value(&departure, &found);
        let velocity = [mean_speed * found.slope[1] + x, y - mean_speed * found.slope[0]];
        Some(Local { velocity, level: found.psi })
    };
    let cell = &study.case.cell;
    let compared = compare(tracks, &Flow { at: &at, mean_speed }, cell.middle())?;
    let amplitude = |contribution: &&Contribution| {
        let departure = contribution.departure(Scale::ONE, View::AtHeight);
        let added = |point: Point| ideal.at(point, None).map(|found| ideal.value(&departure, &found));
        let added: Added<'_> = &added;
        let found = compared.amplitudes([added]).map(|[amplitude]| amplitude);
        (contribution.effect, found.filter(|amplitude| amplitude.sigma < UNSEEN))
    };
    let amplitudes = wanted.iter().map(amplitude).collect();
    let text = verdict(&compared, cell.mean_way());
    Ok(TracksFound { compared, amplitudes, text })
}
