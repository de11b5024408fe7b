//! What a person sees while waiting.

use crate::theory::ideal::Stage;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, Write};
use std::time::Duration;

/// A line that says what is going on, on a terminal; with `-v` one line per cycle anywhere.
pub struct Progress {
    bar: ProgressBar,
    verbose: bool,
}

impl Progress {
    /// Shown on standard error, and only if that is a terminal and nobody asked for quiet.
    pub fn new(quiet: bool, verbose: bool) -> Self {
        let bar =
            if std::io::stderr().is_terminal() && !quiet { ProgressBar::new_spinner() } else { ProgressBar::hidden() };
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
            bar.set_style(style);
        }
        // it ticks on a thread of its own
        if !bar.is_hidden() && rayon::current_num_threads() > 1 {
            bar.enable_steady_tick(Duration::from_millis(100));
        }
        Progress { bar, verbose }
    }

    /// Says what is going on.
    pub fn show(&self, what: &str) {
        self.bar.set_message(what.to_owned());
    }

    /// Tells of a stage of solving.
    pub fn stage(&self, stage: Stage) {
        match stage {
            Stage::Meshing(n) => self.show(&format!("meshing, about {n} triangles")),
            Stage::Solving(n) => self.show(&format!("solving on {n} triangles")),
            Stage::Done(cycle) if self.verbose => {
                let line = format!(
                    "cycle: {} triangles on {} level{}, half-width {:.2e}, iterations {} (pressure) {} (stream function), mesh {:.3} s, \
                     solve {:.3} s",
                    cycle.triangles,
                    cycle.levels,
                    if cycle.levels == 1 { "" } else { "s" },
                    cycle.relative_half_width,
                    cycle.iterations.pressure,
                    cycle.iterations.stream_function,
                    cycle.meshing.as_secs_f64(),
                    cycle.solving.as_secs_f64()
                );
                self.bar.suspend(|| {
                    let _ = writeln!(std::io::stderr(), "{line}");
                });
            }
            Stage::Filling(wet) => self.show(&format!("filling, {:.0} % wet", 100.0 * wet)),
            Stage::Done(_) => {}
        }
    }

    /// Takes the line away.
    pub fn end(&self) {
        self.bar.finish_and_clear();
    }
}
