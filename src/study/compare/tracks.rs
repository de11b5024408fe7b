//! Tracks of particles against theory.

use super::lines::ideal_of;
use super::wish::Wish;
use crate::base::plane::{dot, square};
use crate::base::{Point, Result};
use crate::bench::tracks::{Amplitude, Compared, Effect as Added, Flow, Local, compare, verdict};
use crate::input::measured::Track;
use crate::study::Study;
use crate::study::budget::Plates;
use crate::theory::departure::{Effect, Scale, View, of_the_plates};

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
    let wanted = || of_the_plates(&plates.contributions).filter(|contribution| wish.theory.holds(contribution.effect));
    let layer = wanted().find(|contribution| contribution.effect == Effect::EdgeLayer);
    let layer = layer.map(|contribution| contribution.departure(Scale::ONE, View::GapMean));
    let at = |point: Point| -> Option<Local> {
        let found = ideal.at(point, None)?;
        let velocity = [mean_speed * found.slope[1], -mean_speed * found.slope[0]];
        let added = layer.as_ref().map(|layer| ideal.vector_at(layer, point, Some(found.triangle)).1);
        let size = square(velocity);
        let faster = added.filter(|_| size > 0.0).map_or(1.0, |added| 1.0 + dot(velocity, added) / size);
        Some(Local { velocity, level: found.psi, faster })
    };
    let cell = &study.case.cell;
    let compared = compare(tracks, &Flow { at: &at, mean_speed }, [0.5 * cell.length, 0.5 * cell.width])?;
    let amplitude = |contribution: &crate::theory::departure::Contribution| {
        let departure = contribution.departure(Scale::ONE, View::AtHeight);
        let added = |point: Point| ideal.at(point, None).map(|_| ideal.vector_at(&departure, point, None).1);
        let added: Added<'_> = &added;
        (contribution.effect, compared.amplitudes([added]).map(|[amplitude]| amplitude))
    };
    let amplitudes = wanted().map(amplitude).collect();
    let text = verdict(&compared, cell.length);
    Ok(TracksFound { compared, amplitudes, text })
}
