//! What the tracks say, in one sentence.

use super::compare::Compared;
use super::heights::Heights;
use super::reject::Reason;
use crate::base::units::{Dimension, with_error};

/// The sentence, for a cell of so many metres.
pub fn verdict(compared: &Compared, cell_length: f64) -> String {
    let (used, all) = (compared.used(), compared.tracks.len());
    let (unit, size) = Dimension::Speed.unit_for(compared.mean_speed);
    let speed = with_error(compared.mean_speed / size, compared.mean_speed_sigma / size);
    let stand = match compared.found.heights {
        Heights::Uniform => "stand at every height alike",
        Heights::Crossing => "stand as the flux brings them",
        Heights::Focused => "run near mid-gap, as their common speed has it",
        Heights::Unknown => "stand at unknown heights",
    };
    let mean = match compared.found.heights {
        Heights::Unknown => format!("the mean speed is at least {speed} {unit}"),
        _ => format!("the mean speed is {speed} {unit}"),
    };
    format!(
        "By {used} of {all} tracks, whose tracers {stand}, {mean}{}{}.",
        taper(compared, cell_length),
        rejected(compared)
    )
}

fn taper(compared: &Compared, cell_length: f64) -> String {
    let Some((change, sigma)) = compared.trend.gap_change(cell_length) else { return String::new() };
    let change = with_error(100.0 * change, 100.0 * sigma);
    match compared.before {
        Some(_) if compared.trend.is_clear(0) => {
            format!(" once a change of the gap by {change} % along the cell is taken out")
        }
        _ => format!(", no taper is seen (the gap changes by {change} % along the cell)"),
    }
}

fn rejected(compared: &Compared) -> String {
    let count = |reason: Reason| compared.tracks.iter().filter(|judged| judged.fault == Some(reason)).count();
    let named = Reason::ALL.into_iter().map(|reason| (count(reason), reason)).filter(|(count, _)| *count > 0);
    let list: Vec<String> = named.map(|(count, reason)| format!("{count} {}", reason.words())).collect();
    if list.is_empty() { String::new() } else { format!("; left out: {}", list.join(", ")) }
}
