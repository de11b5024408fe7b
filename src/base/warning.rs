//! What a reader must know before using a number, as records.

use super::Point;
use super::row::{Detail, Kind, Row, Section};
use super::units::Dimension;

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// What was chosen or mended on the way.
    Note,
    /// A number is less than it seems.
    Warning,
}

impl Level {
    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Level::Note => "note",
            Level::Warning => "warning",
        }
    }
}

/// What is warned of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Code {
    /// Something about the drawing of an outline: what was repaired, what was chosen.
    Drawing,
    /// The wanted accuracy was not reached.
    TargetMissed,
    /// Chords for curves can change the shape factor by more than its bounds tell.
    OutlineAllowance,
    /// An obstacle has a sharp tail, and the cell shows no circulation.
    SharpTail,
    /// The gap is no small part of the reference length.
    ThickGap,
    /// A probe stands within reach of the edge layer.
    ProbeNearEdge,
    /// An edge is so sharp that the ideal speed there has no limit.
    KnifeEdge,
    /// The variant with moved edges does not exist.
    NoMovedEdges,
    /// The edge-layer term is switched off near a corner.
    EdgeLayerOff,
    /// Inertia is not small, and was not asked for.
    InertiaLeftOut,
    /// The reduced Reynolds number is beyond those for which the inertia departure was held against three-dimensional solutions.
    ReducedReynolds,
    /// The local inertia number is beyond the order that was computed.
    InertiaNumber,
    /// The flow changes so fast along an edge that the series of the inertia departure no longer decides.
    EdgeNumber,
    /// The inertia of the edge is switched off near a corner.
    EdgeInertiaOff,
    /// A streakline ends at rest.
    LineAtRest,
    /// A streakline got no further beside a corner or an edge.
    LineAtCorner,
    /// A streakline needed too many steps.
    LineCut,
    /// Streaklines are those of the ideal pattern, since first order no longer tells where they go.
    IdealLines,
    /// The dye height lies at a plate.
    DyeAtPlate,
    /// The cell is larger or more slender than any.
    UnlikelySize,
    /// The gap is no thin one.
    UnlikelyGap,
    /// The flow is too fast for the model.
    UnlikelyFlow,
    /// A tolerance is so large that it tells nothing.
    LooseTolerance,
    /// A needle is thicker than the gap.
    ThickNeedle,
    /// Time lines were cut: there would be too many.
    TimeLinesCut,
    /// A bubble is hardly wider than the gap.
    SmallBubble,
    /// The flow is fast enough to carry a bubble off.
    BubbleTravels,
    /// There is no obstacle whose length the Reynolds numbers could use.
    NoObstacle,
    /// A line for values runs through solids or out of the cell.
    LineCutBySolid,
    /// A mark of the photograph is not to be seen.
    MarkNotSeen,
    /// A mark stands in glare.
    MarkInGlare,
    /// The picture is bright as a whole.
    PictureTooBright,
    /// A mark does not agree with the others.
    MarkLeftOut,
    /// The marks do not agree, and are too few to tell which is wrong.
    MarksAtOdds,
    /// The marks are too few to check one another.
    FewMarks,
    /// The marks lie farther from the fit than they should.
    MarksOff,
    /// The picture shows the cell mirrored.
    Mirrored,
    /// How well the marks were placed is assumed.
    PlacingAssumed,
    /// Outlines in the picture stand elsewhere than in the case.
    OutlineElsewhere,
    /// A third of a line or more is hidden.
    LineHidden,
    /// The map is worse than what is looked for.
    MapTooPoor,
    /// Marks and lines disagree about the map.
    MarksAgainstLines,
    /// The mesh adds to what is measured.
    MeshTooCoarse,
    /// Effects cannot be told apart.
    LooksAlike,
    /// Air stays in the cell when it fills.
    AirStays,
    /// The fluid runs ahead along corners.
    Wicks,
    /// The front may run ahead in fingers.
    FrontUnstable,
    /// The front moves so fast that its contact angle changes.
    FastFront,
    /// The front that applies was not computed.
    FrontNotComputed,
}

impl Code {
    /// All of them.
    pub const ALL: [Code; 49] = [
        Code::Drawing,
        Code::TargetMissed,
        Code::OutlineAllowance,
        Code::SharpTail,
        Code::ThickGap,
        Code::ProbeNearEdge,
        Code::KnifeEdge,
        Code::NoMovedEdges,
        Code::EdgeLayerOff,
        Code::InertiaLeftOut,
        Code::ReducedReynolds,
        Code::InertiaNumber,
        Code::EdgeNumber,
        Code::EdgeInertiaOff,
        Code::LineAtRest,
        Code::LineAtCorner,
        Code::LineCut,
        Code::IdealLines,
        Code::DyeAtPlate,
        Code::UnlikelySize,
        Code::UnlikelyGap,
        Code::UnlikelyFlow,
        Code::LooseTolerance,
        Code::ThickNeedle,
        Code::TimeLinesCut,
        Code::SmallBubble,
        Code::BubbleTravels,
        Code::NoObstacle,
        Code::LineCutBySolid,
        Code::MarkNotSeen,
        Code::MarkInGlare,
        Code::PictureTooBright,
        Code::MarkLeftOut,
        Code::MarksAtOdds,
        Code::FewMarks,
        Code::MarksOff,
        Code::Mirrored,
        Code::PlacingAssumed,
        Code::OutlineElsewhere,
        Code::LineHidden,
        Code::MapTooPoor,
        Code::MarksAgainstLines,
        Code::MeshTooCoarse,
        Code::LooksAlike,
        Code::AirStays,
        Code::Wicks,
        Code::FrontUnstable,
        Code::FastFront,
        Code::FrontNotComputed,
    ];

    /// Its name in files.
    pub fn key(self) -> &'static str {
        match self {
            Code::Drawing => "drawing",
            Code::TargetMissed => "target_missed",
            Code::OutlineAllowance => "outline_allowance",
            Code::SharpTail => "sharp_tail",
            Code::ThickGap => "thick_gap",
            Code::ProbeNearEdge => "probe_near_edge",
            Code::KnifeEdge => "knife_edge",
            Code::NoMovedEdges => "no_moved_edges",
            Code::EdgeLayerOff => "edge_layer_off",
            Code::InertiaLeftOut => "inertia_left_out",
            Code::ReducedReynolds => "reduced_reynolds",
            Code::InertiaNumber => "inertia_number",
            Code::EdgeNumber => "edge_number",
            Code::EdgeInertiaOff => "edge_inertia_off",
            Code::LineAtRest => "line_at_rest",
            Code::LineAtCorner => "line_at_corner",
            Code::LineCut => "line_cut",
            Code::IdealLines => "ideal_lines",
            Code::DyeAtPlate => "dye_at_plate",
            Code::UnlikelySize => "unlikely_size",
            Code::UnlikelyGap => "unlikely_gap",
            Code::UnlikelyFlow => "unlikely_flow",
            Code::LooseTolerance => "loose_tolerance",
            Code::ThickNeedle => "thick_needle",
            Code::TimeLinesCut => "time_lines_cut",
            Code::SmallBubble => "small_bubble",
            Code::BubbleTravels => "bubble_travels",
            Code::NoObstacle => "no_obstacle",
            Code::LineCutBySolid => "line_cut_by_solid",
            Code::MarkNotSeen => "mark_not_seen",
            Code::MarkInGlare => "mark_in_glare",
            Code::PictureTooBright => "picture_too_bright",
            Code::MarkLeftOut => "mark_left_out",
            Code::MarksAtOdds => "marks_at_odds",
            Code::FewMarks => "few_marks",
            Code::MarksOff => "marks_off",
            Code::Mirrored => "mirrored",
            Code::PlacingAssumed => "placing_assumed",
            Code::OutlineElsewhere => "outline_elsewhere",
            Code::LineHidden => "line_hidden",
            Code::MapTooPoor => "map_too_poor",
            Code::MarksAgainstLines => "marks_against_lines",
            Code::MeshTooCoarse => "mesh_too_coarse",
            Code::LooksAlike => "looks_alike",
            Code::AirStays => "air_stays",
            Code::Wicks => "wicks",
            Code::FrontUnstable => "front_unstable",
            Code::FastFront => "fast_front",
            Code::FrontNotComputed => "front_not_computed",
        }
    }
}

/// One warning or note.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    /// What is warned of.
    pub code: Code,
    /// How much it matters.
    pub level: Level,
    /// In a sentence: the matter, its reason, and of a warning what to do.
    pub message: String,
    /// Where, m.
    pub at: Option<Point>,
    /// The number it was judged by, SI.
    pub value: Option<f64>,
}

impl Warning {
    /// A warning: what is the matter, and what to do about it.
    pub fn new(code: Code, matter: impl Into<String>, remedy: &str) -> Warning {
        let message = matter.into() + "; " + remedy;
        Warning { code, level: Level::Warning, message, at: None, value: None }
    }

    /// A note.
    pub fn note(code: Code, message: impl Into<String>) -> Warning {
        Warning { code, level: Level::Note, message: message.into(), at: None, value: None }
    }

    /// The same with its place, m.
    pub fn at(self, at: Point) -> Warning {
        Warning { at: Some(at), ..self }
    }

    /// The same with the number it was judged by, SI.
    pub fn value(self, value: f64) -> Warning {
        Warning { value: Some(value), ..self }
    }

    fn rows(&self) -> Vec<Row> {
        let mut rows = vec![
            Row::new("code", "code", self.code.key(), Kind::Number),
            Row::new("level", "level", self.level.key(), Kind::Number),
            Row::script("message", self.message.clone()),
        ];
        if let Some([x, y]) = self.at {
            rows.extend([
                Row::new("x_m", "x", x, Kind::Of(Dimension::Length)),
                Row::new("y_m", "y", y, Kind::Of(Dimension::Length)),
            ]);
        }
        rows.extend(
            self.value.filter(|value| value.is_finite()).map(|value| Row::new("value", "value", value, Kind::Number)),
        );
        rows
    }
}

/// Messages of one level, in their order.
pub fn messages(warnings: &[Warning], level: Level) -> Vec<String> {
    warnings.iter().filter(|warning| warning.level == level).map(|warning| warning.message.clone()).collect()
}

/// Warnings and notes as sentences, and all of them as a table for scripts and for those who want everything.
pub fn sections(warnings: &[Warning]) -> Vec<Section> {
    let table = Section::table("warnings", "Warnings and notes by code", warnings.iter().map(Warning::rows));
    let said = |level: Level, title: &'static str| Section::new("", title, Vec::new()).noted(messages(warnings, level));
    let mut own = said(Level::Warning, "Warnings");
    if own.notes.is_empty() {
        own.title = "Warnings: none".into();
    }
    let notes = said(Level::Note, "Notes");
    let mut list = vec![own];
    list.extend((!notes.notes.is_empty()).then_some(notes));
    list.push(table.at(Detail::Full));
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_a_key_of_its_own() {
        let mut keys = Code::ALL.map(Code::key);
        keys.sort_unstable();
        assert!(keys.windows(2).all(|pair| pair[0] != pair[1]), "{keys:?}");
    }

    #[test]
    fn rows_hold_what_there_is() {
        let list = [
            Warning::note(Code::Drawing, "two points dropped"),
            Warning::new(Code::ProbeNearEdge, "too near", "move it").at([0.25, 0.5]).value(2.5),
            Warning::new(Code::LineCut, "cut", "take another").value(f64::NAN),
        ];
        let section = &sections(&list)[2];
        let keys = |k: usize| section.parts[k].rows.iter().map(|row| row.key.as_ref()).collect::<Vec<_>>();
        assert_eq!(keys(0), ["code", "level", "message"]);
        assert_eq!(keys(1), ["code", "level", "message", "x_m", "y_m", "value"]);
        // what is not finite does not exist
        assert_eq!(keys(2), ["code", "level", "message"]);
        assert_eq!(section.number("probe_near_edge.y_m"), Some(0.5));
        let level = |k: usize| section.parts[k].row("level").map(Row::shown);
        assert_eq!([level(0), level(1)].map(Option::unwrap), ["note", "warning"]);
    }
}
