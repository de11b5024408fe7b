//! From entity to entity, blocks expanded.

use super::super::affine::Affine;
use super::super::effort::Effort;
use super::super::names::Names;
use super::super::stroke::{MOST_CURVES, Painted, Stroke, TEXT, not_used};
use super::curves::{Drawn, drawn, polyline, seen_from};
use super::pairs::{Entity, Fault};
use crate::base::Point;
use crate::base::text::shortened;
use std::collections::BTreeMap;

/// Deepest nesting of blocks.
const DEEPEST: usize = 32;

/// Most inserts expanded, each place of an array counted.
const MOST_INSERTS: usize = 100_000;

/// A block: what an insert draws.
pub(super) struct Block<'s, 't, 'p> {
    pub base: Point,
    pub entities: &'s [Entity<'t, 'p>],
}

/// Where an entity stands.
#[derive(Clone)]
struct Setting<'t> {
    map: Affine,
    /// The blocks around it, outermost first.
    blocks: Vec<&'t str>,
    /// Their names for the strokes.
    names: Names,
    /// The layer of the insert, which things on layer 0 of a block take.
    layer: Option<&'t str>,
}

pub(super) struct Walk<'w, 't, 'p> {
    blocks: &'w BTreeMap<&'t str, Block<'w, 't, 'p>>,
    hidden: &'w [&'t str],
    strokes: Vec<Stroke>,
    curves: usize,
    inserts: usize,
    effort: Effort,
    /// The last layer, so that strokes share its name.
    layer: (Option<&'t str>, Names),
    ignored: BTreeMap<String, usize>,
}

impl<'w, 't, 'p> Walk<'w, 't, 'p> {
    pub fn new(blocks: &'w BTreeMap<&'t str, Block<'w, 't, 'p>>, hidden: &'w [&'t str]) -> Self {
        let (strokes, ignored) = (Vec::new(), BTreeMap::new());
        Walk {
            blocks,
            hidden,
            strokes,
            curves: 0,
            inserts: 0,
            effort: Effort::default(),
            layer: Default::default(),
            ignored,
        }
    }

    /// The strokes; what was passed over goes to the notes.
    pub fn finish(self, notes: &mut Vec<String>) -> Vec<Stroke> {
        notes.extend(not_used(&self.ignored));
        self.strokes
    }

    pub fn all(&mut self, entities: &[Entity<'t, 'p>]) -> Result<(), Fault> {
        let map = Affine::scale(1.0, 1.0);
        self.entities(entities, &Setting { map, blocks: vec![], names: Names::default(), layer: None })
    }

    fn ignore(&mut self, what: &str) {
        *self.ignored.entry(what.to_owned()).or_default() += 1;
    }

    fn entities(&mut self, entities: &[Entity<'t, 'p>], setting: &Setting<'t>) -> Result<(), Fault> {
        let mut k = 0;
        while let Some(entity) = entities.get(k) {
            // Vertices and attributes belong to the entity before them.
            let parts = entities[k + 1..].iter().take_while(|e| matches!(e.kind, "VERTEX" | "ATTRIB")).count();
            let parts = &entities[k + 1..k + 1 + parts];
            k += 1 + parts.len();
            let read = std::iter::once(entity).chain(parts).map(Entity::bytes).sum();
            self.effort.add(read).map_err(|message| (message, entity.place()))?;
            self.entity(entity, parts, setting)?;
        }
        Ok(())
    }

    fn entity(
        &mut self,
        entity: &Entity<'t, 'p>,
        parts: &[Entity<'t, 'p>],
        setting: &Setting<'t>,
    ) -> Result<(), Fault> {
        let own = entity.text(8).unwrap_or("0");
        let layer = setting.layer.filter(|_| own == "0").unwrap_or(own);
        if matches!(entity.kind, "SEQEND" | "ENDSEC") {
            return Ok(());
        }
        if entity.whole(67)? == 1 {
            self.ignore(&format!("{} of a sheet layout", entity.kind));
            return Ok(());
        }
        if entity.whole(60)? == 1 || self.hidden.contains(&layer) {
            self.ignore(&format!("hidden {}", entity.kind));
            return Ok(());
        }
        let Some(seen) = seen_from(entity)? else {
            self.ignore(&format!("tilted {}", entity.kind));
            return Ok(());
        };
        let inner = Setting { map: setting.map.after(&seen), layer: Some(layer), ..setting.clone() };
        if entity.kind == "INSERT" {
            return self.insert(entity, inner);
        }
        let found = if entity.kind == "POLYLINE" { polyline(entity, parts)? } else { drawn(entity)? };
        match found {
            Some(found) => self.keep(entity, found, inner),
            None => {
                self.ignore(if matches!(entity.kind, "TEXT" | "MTEXT") { TEXT } else { entity.kind });
                Ok(())
            }
        }
    }

    fn keep(&mut self, entity: &Entity<'t, 'p>, found: Drawn, setting: Setting<'t>) -> Result<(), Fault> {
        self.curves += found.curves.len();
        if self.curves > MOST_CURVES + 1 {
            return Err((format!("the drawing has more than the {MOST_CURVES} curves that are taken"), entity.place()));
        }
        let handle = entity.text(5);
        let ids = handle.map_or_else(|| setting.names.clone(), |handle| setting.names.with(handle));
        let name = setting.names.innermost().or_else(|| ids.innermost()).unwrap_or_default();
        if setting.layer != self.layer.0 {
            self.layer = (setting.layer, setting.layer.map_or_else(Names::default, |name| Names::default().with(name)));
        }
        self.strokes.push(Stroke {
            places: vec![entity.place(); found.curves.len()],
            curves: found.curves.iter().map(|curve| setting.map.curve(curve)).collect(),
            closed: found.closed,
            painted: Painted::Line,
            element: 0,
            name,
            ids,
            layers: self.layer.1.clone(),
        });
        Ok(())
    }

    fn insert(&mut self, entity: &Entity<'t, 'p>, setting: Setting<'t>) -> Result<(), Fault> {
        let name = entity.text(2).unwrap_or("");
        let Some(block) = self.blocks.get(name) else {
            self.ignore("INSERT of a block that is not in the file");
            return Ok(());
        };
        if setting.blocks.contains(&name) {
            return Err((format!("the block \"{}\" contains itself", shortened(name)), entity.place()));
        }
        if setting.blocks.len() >= DEEPEST {
            return Err((format!("blocks are nested deeper than {DEEPEST}"), entity.place()));
        }
        let count = |code: i32| entity.whole(code).map(|n| n.max(1));
        let (columns, rows) = (count(70)?, count(71)?);
        let steps = [entity.number(44, 0.0)?, entity.number(45, 0.0)?];
        let scale = Affine::scale(entity.number(41, 1.0)?, entity.number(42, 1.0)?);
        let turn = Affine::shift(entity.point(10)?).after(&Affine::turn(entity.number(50, 0.0)?.to_radians()));
        let drawn = scale.after(&Affine::shift([-block.base[0], -block.base[1]]));
        let mut inner = Setting { names: setting.names.with(name), ..setting.clone() };
        inner.blocks.push(name);
        for row in 0..rows {
            for column in 0..columns {
                self.inserts += 1;
                if self.inserts > MOST_INSERTS {
                    return Err((format!("the drawing has more than {MOST_INSERTS} inserts"), entity.place()));
                }
                let step = Affine::shift([column as f64 * steps[0], row as f64 * steps[1]]);
                inner.map = setting.map.after(&turn).after(&step).after(&drawn);
                self.entities(block.entities, &inner)?;
            }
        }
        Ok(())
    }
}
