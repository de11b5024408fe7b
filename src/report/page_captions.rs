//! What stands below the figures of `report.html`.

use crate::report::figure::Canvas;

/// What a figure shows and how to read it.
pub(super) fn caption(figure: &Canvas) -> String {
    let how = match figure.name() {
        "streaklines" => {
            "Dye let in all the time. Between two lines the flow stays the same: where they come closer the fluid is faster."
        }
        "streaklines_by_speed" => "The same lines; the colour is the speed over the mean speed at this height.",
        "timelines" => {
            "Dye that started together; it waits in front of an obstacle, and behind it what passed on both sides never joins again."
        }
        "lines_evenly_spaced" => "Their distance says nothing of the flow between them.",
        "pressure_coefficient" => {
            "What the inviscid flow with these streamlines would show on a model: (p − p∞)/(½ρU²), no pressure of the cell."
        }
        "pressure" => {
            "What a gauge reads above the outlet: the fluid runs down it, fastest where the lines are close if the gap is even."
        }
        "speed_ratio" => "Averaged over the gap; near solid edges, within about the gap, the real fluid is slower.",
        "layers" => "Lines from the same places at the inlet, at several heights in the gap; inertia parts them.",
        "budget" => "Bars run from the root mean square to what 99 % of the area outside the edge band are below.",
        "sweep" => "Scaled from one solution by the known powers of speed, gap and viscosity.",
        "circulation" => "The cell never shows the dashed pattern: its pressure has one value everywhere.",
        "bubble" => {
            "Where the dashed lines leave the solid ones, bubbles push the flow aside: no part of the pattern of the obstacles."
        }
        "overlay" => {
            "Where rings leave the solid lines the picture departs from the ideal pattern; dashes show it as many times as large as the note says."
        }
        "shift_map" => {
            "Each disc is a station of a traced line; lines start with a level that is fitted, so that shifts are about zero on each."
        }
        "residual_along" => {
            "Above, what the lines show; below, what no effect explains. Lines within the band are explained."
        }
        "arrival" => {
            "Dark is late. A vent at a ring, or a tilt that makes it the highest place, lets the last air out."
        }
        "filling_strip" => "Wet parts are shaded; what is hatched stays dry.",
        name if name.starts_with("bubble_frame") => {
            "The pattern changes as the bubble goes: a photograph shows none of these lines, a camera that goes with it does for a moment."
        }
        "bubble_paths" => "A free round bubble follows the streamline of its middle, at a speed of its own.",
        name if name.starts_with("profile_") => {
            "Averaged over the gap; curves are broken where the line runs through solids."
        }
        "uncertainty" => {
            "Each bar is the whole variance of a number, divided by what it comes from; at its end one standard uncertainty."
        }
        "seek" => "Each mark is a run of the search; lines at the place that was found are as long as it may be off.",
        name if name.starts_with("campaign_") => {
            "Upright lines at marks are as long as the estimated numerical error of a run to both sides; where one is shorter than its mark it is hidden."
        }
        "mesh" => "Where the computable error sits; the mesh is finest where it matters.",
        _ => {
            "Change of |V| against the ideal pattern at the same mean speed; the ring marks the largest outside the band."
        }
    };
    format!("{}. {how}", figure.title())
}
