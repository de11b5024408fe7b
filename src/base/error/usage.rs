//! Requests that cannot be met as they were put.

use std::path::PathBuf;

/// What is wrong with a request.
#[derive(Debug, thiserror::Error)]
pub enum Usage {
    /// A ladder of too few meshes.
    #[error(
        "a ladder of {meshes} mesh{} shows no order; the least is {least}, and four confirm one",
        if *meshes == 1 { "" } else { "es" }
    )]
    FewMeshes {
        /// Meshes it would have.
        meshes: usize,
        /// Fewest meshes.
        least: usize,
    },
    /// Sizes of a ladder that do not grow.
    #[error("the sizes of a ladder must grow, but {before} stands before {after}")]
    FallingSizes {
        /// Triangles of one mesh.
        before: usize,
        /// Triangles of the next.
        after: usize,
    },
    /// Two sizes of a ladder that give the same mesh.
    #[error("the meshes for {asked} triangles and for the size before do not differ: the outlines ask for more")]
    EqualMeshes {
        /// Triangles asked for.
        asked: usize,
        /// Triangles that the outlines ask for.
        made: usize,
    },
    /// A ladder whose finest mesh is larger than the case or the memory allows.
    #[error("{what}")]
    LargeLadder {
        /// The size and the limit.
        what: String,
        /// Whether its meshes were asked for; if not, the case itself leaves no room for the usual ones.
        chosen: bool,
        /// The case file.
        file: PathBuf,
    },
    /// A key under which the report has no number.
    #[error("the report has no number under the key \"{key}\"")]
    UnknownKey {
        /// The key.
        key: String,
    },
    /// An outline without a scale that is to be cut.
    #[error("the size of {outline} is not known, so it cannot be cut")]
    NoSize {
        /// What it is called.
        outline: String,
    },
    /// Calibration marks on a sheet without a cell.
    #[error("{outline} is a drawing without a cell, so calibration marks have no place beside it")]
    NoCell {
        /// What it is called.
        outline: String,
    },
    /// A cell without room for so many calibration marks.
    #[error(
        "the cell of {:.1} mm by {:.1} mm has room for {found} calibration mark{} of {:.1} mm, not for {asked}: they stand a mark size clear \
         of walls, ends and obstacles and two of each other, and no three of the first four in a line",
        1e3 * cell[0], 1e3 * cell[1], if *found == 1 { "" } else { "s" }, 1e3 * size
    )]
    FewPlaces {
        /// Marks asked for.
        asked: usize,
        /// Marks there is room for.
        found: usize,
        /// Size of a mark, m.
        size: f64,
        /// Length and width of the cell, m.
        cell: [f64; 2],
    },
    /// Runs of another plan in the folder of a campaign.
    #[error("{} holds runs of another plan, or of {plan} before it, its case or a file of that was changed", file.display())]
    OtherPlan {
        /// The file of those runs.
        file: PathBuf,
        /// Their plan.
        plan: String,
    },
    /// An argument of a function that makes no sense.
    #[error("{what}")]
    Argument {
        /// What is wrong with it.
        what: String,
        /// What to give instead.
        remedy: String,
    },
}

impl Usage {
    /// What can be done about it, in terms of the library.
    pub fn remedy(&self) -> String {
        match self {
            Usage::FewMeshes { .. } => "ask for four meshes or more, or list four sizes".into(),
            Usage::FallingSizes { .. } => {
                "list numbers of triangles in ascending order, each about four times the one before".into()
            }
            Usage::EqualMeshes { made, .. } => format!("start the ladder at {made} triangles or more"),
            Usage::LargeLadder { chosen: true, .. } => {
                "ask for fewer or smaller meshes, or raise mesh.max_triangles in the case".into()
            }
            Usage::LargeLadder { chosen: false, file, .. } => format!(
                "ask for three meshes, or let mesh.max_edge be larger or raise mesh.max_triangles in {}",
                file.display()
            ),
            Usage::UnknownKey { .. } => "join the keys of report.json by dots and name entries of lists, say \
                drive.pressure_drop_pa or probes.NAME.angle_deg; keys of corrections exist where these are studied"
                .into(),
            Usage::NoSize { .. } => "give it a width, a height or the unit of its coordinates".into(),
            Usage::NoCell { .. } => "take the case in which the outline stands".into(),
            Usage::FewPlaces { .. } => "ask for fewer marks, smaller ones or none".into(),
            Usage::OtherPlan { .. } => {
                "collect the parts of one plan alone: choose another folder, or have these runs replaced".into()
            }
            Usage::Argument { remedy, .. } => remedy.clone(),
        }
    }
}
