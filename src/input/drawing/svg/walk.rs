//! From element to element through an SVG document.

use super::super::affine::Affine;
use super::super::effort::{self, Effort};
use super::super::names::Names;
use super::super::stroke::{MOST_CURVES, Painted, Stroke, TEXT, not_used};
use super::shapes::{is_shape, shape};
use super::view::{fit, px, transform, view_box};
use crate::base::error::Problems;
use crate::base::text::shortened;
use roxmltree::{Document, Node};
use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::path::Path;
use std::str::FromStr;
use svgtypes::AspectRatio;

/// Deepest nesting of elements, `use` counted.
const DEEPEST: usize = 200;

/// Most elements visited, expanded ones counted each time.
const MOST_VISITS: usize = 200_000;

/// Bytes that a node by itself counts as.
const NODE: usize = 16;

/// Most mistakes reported.
const MOST_PROBLEMS: usize = 10;

/// What an element inherits.
#[derive(Clone)]
pub(super) struct Setting {
    map: Affine,
    /// What percentages refer to.
    size: [f64; 2],
    /// Ids of the element and those around it.
    ids: Names,
    /// The id of the outermost `use` around it.
    used: Option<String>,
    /// Ids and labels of the groups around it.
    layers: Names,
    filled: bool,
    stroked: bool,
    visible: bool,
    depth: usize,
}

impl Setting {
    pub fn root(map: Affine, size: [f64; 2]) -> Self {
        Setting {
            map,
            size,
            ids: Names::default(),
            used: None,
            layers: Names::default(),
            filled: true,
            stroked: false,
            visible: true,
            depth: 0,
        }
    }
}

pub(super) struct Walk<'a, 'd> {
    file: &'a Path,
    by_id: HashMap<&'d str, Node<'d, 'd>>,
    strokes: Vec<Stroke>,
    curves: usize,
    visits: usize,
    effort: Effort,
    ignored: BTreeMap<String, usize>,
    problems: Problems,
    /// A limit was passed: nothing after it is of interest.
    stopped: bool,
}

impl<'a, 'd> Walk<'a, 'd> {
    pub fn new(file: &'a Path, document: &'d Document<'d>) -> Self {
        let mut by_id = HashMap::new();
        for node in document.descendants() {
            if let Some(id) = node.attribute("id") {
                by_id.entry(id).or_insert(node);
            }
        }
        Walk {
            file,
            by_id,
            strokes: Vec::new(),
            curves: 0,
            visits: 0,
            effort: Effort::default(),
            ignored: BTreeMap::new(),
            problems: Problems::default(),
            stopped: false,
        }
    }

    /// The strokes and mistakes; what was passed over goes to the notes.
    pub fn finish(self, notes: &mut Vec<String>) -> (Vec<Stroke>, Problems) {
        notes.extend(not_used(&self.ignored));
        (self.strokes, self.problems)
    }

    fn ignore(&mut self, what: &str) {
        *self.ignored.entry(what.to_owned()).or_default() += 1;
    }

    fn fail(&mut self, place: Range<usize>, message: String, remedy: &str) {
        self.problems.add(self.file, Some(place), message, remedy);
    }

    pub fn children(&mut self, node: Node<'d, 'd>, setting: &Setting) {
        for child in node.children() {
            if self.stopped || self.problems.list.len() >= MOST_PROBLEMS || !self.reads(child) {
                return;
            }
            if child.is_element() {
                self.element(child, setting);
            }
        }
    }

    /// Counts what is read of a node: its name and attributes, whether they are used or not.
    fn reads(&mut self, node: Node<'d, 'd>) -> bool {
        let attributes: usize = node.attributes().map(|attribute| attribute.range().len()).sum();
        let read = self.effort.add(NODE + node.tag_name().name().len() + attributes);
        if let Err(message) = read {
            self.fail(head(node), message, effort::REMEDY);
            self.stopped = true;
        }
        !self.stopped
    }

    fn element(&mut self, node: Node<'d, 'd>, around: &Setting) {
        let name = node.tag_name().name();
        let is_svg = node.tag_name().namespace().is_none_or(|n| n == "http://www.w3.org/2000/svg");
        const SILENT: [&str; 17] = [
            "defs",
            "title",
            "desc",
            "metadata",
            "clipPath",
            "mask",
            "pattern",
            "marker",
            "linearGradient",
            "radialGradient",
            "filter",
            "symbol",
            "script",
            "animate",
            "animateTransform",
            "set",
            "view",
        ];
        if !is_svg || SILENT.contains(&name) {
            return;
        }
        self.visits += 1;
        if self.visits > MOST_VISITS || around.depth > DEEPEST {
            let message = if self.visits > MOST_VISITS {
                format!("the drawing has more than {MOST_VISITS} elements, expanded ones counted each time")
            } else {
                format!("the elements are nested deeper than {DEEPEST}")
            };
            self.fail(head(node), message, effort::REMEDY);
            self.stopped = true;
            return;
        }
        let Some(setting) = self.setting(node, around) else { return };
        match name {
            "g" | "a" | "switch" => self.children(node, &setting),
            "svg" => self.window(node, setting, None),
            "use" => self.expand(node, setting),
            "style" => self.ignore("style sheet"),
            _ => self.shape(node, name, setting),
        }
    }

    /// What holds inside an element; none if it is not displayed or its transform is wrong.
    fn setting(&mut self, node: Node<'d, 'd>, around: &Setting) -> Option<Setting> {
        let look = Look::of(node);
        if look.get("display") == Some("none") {
            self.ignore("hidden element");
            return None;
        }
        let mut setting = Setting { depth: around.depth + 1, ..around.clone() };
        if let Some(attribute) = node.attribute_node("transform") {
            match transform(attribute.value()) {
                Ok(map) => setting.map = around.map.after(&map),
                Err(message) => {
                    self.fail(
                        attribute.range_value(),
                        message,
                        "write translate, scale, rotate, skewX, skewY or matrix",
                    );
                    return None;
                }
            }
        }
        if let Some(value) = look.get("fill").filter(|value| *value != "inherit") {
            setting.filled = value != "none" && value != "transparent";
        }
        if let Some(value) = look.get("stroke").filter(|value| *value != "inherit") {
            setting.stroked = value != "none" && value != "transparent";
        }
        if let Some(value) = look.get("visibility").filter(|value| *value != "inherit") {
            setting.visible = value == "visible";
        }
        for clipped in ["clip-path", "mask"].into_iter().filter(|key| look.get(key).is_some_and(|v| v != "none")) {
            self.ignore(&format!("{clipped} (the whole outline is taken)"));
        }
        if let Some(id) = node.attribute("id") {
            setting.ids = setting.ids.with(id);
        }
        if node.tag_name().name() == "g" {
            let label = node.attributes().find(|a| a.name() == "label" && a.namespace().is_some());
            for name in node.attribute("id").into_iter().chain(label.map(|a| a.value())) {
                setting.layers = setting.layers.with(name);
            }
        }
        Some(setting)
    }

    /// A nested `svg`, or a `symbol` with the size its `use` gives it.
    fn window(&mut self, node: Node<'d, 'd>, mut setting: Setting, user: Option<Node<'d, 'd>>) {
        let length = |key: &str, whole: f64| {
            let given = user.and_then(|user| user.attribute(key)).or(node.attribute(key));
            given.and_then(|text| px(text, whole).ok())
        };
        let size = [length("width", setting.size[0]), length("height", setting.size[1])];
        let size = [0, 1].map(|k| size[k].unwrap_or(setting.size[k]));
        if user.is_none() {
            let corner = [length("x", setting.size[0]), length("y", setting.size[1])].map(|v| v.unwrap_or(0.0));
            setting.map = setting.map.after(&Affine::shift(corner));
        }
        setting.size = size;
        match view_box(node) {
            Ok(None) => {}
            Ok(Some(view)) => {
                let aspect = node.attribute("preserveAspectRatio").and_then(|text| AspectRatio::from_str(text).ok());
                setting.map = setting.map.after(&fit(&view, size, aspect.unwrap_or_default()));
                setting.size = [view.w, view.h];
            }
            Err((message, place)) => return self.fail(place, message, "write four numbers: x, y, width and height"),
        }
        self.children(node, &setting);
    }

    fn expand(&mut self, node: Node<'d, 'd>, mut setting: Setting) {
        let link = node.attributes().find(|attribute| attribute.name() == "href");
        let Some(link) = link else { return };
        let Some(target) = link.value().strip_prefix('#').and_then(|id| self.by_id.get(id).copied()) else {
            let message = format!("nothing in the file has the id `{}`", shortened(link.value()));
            self.fail(link.range_value(), message, "use an id of this file, such as \"#seal\"");
            return;
        };
        setting.used =
            setting.used.or_else(|| node.attribute("id").and_then(|id| Names::default().with(id).innermost()));
        let part = |key: &str, whole: f64| node.attribute(key).and_then(|text| px(text, whole).ok()).unwrap_or(0.0);
        let shift = [part("x", setting.size[0]), part("y", setting.size[1])];
        setting.map = setting.map.after(&Affine::shift(shift));
        let depth = node.ancestors().count();
        if let Err(message) = self.effort.add(NODE * depth) {
            self.fail(head(node), message, effort::REMEDY);
            self.stopped = true;
        } else if node.ancestors().any(|around| around == target) {
            let message = format!("`{}` uses itself", shortened(link.value()));
            self.fail(link.range_value(), message, "write out what should be repeated");
        } else if !self.reads(target) {
        } else if target.tag_name().name() == "symbol" {
            if let Some(inner) = self.setting(target, &setting) {
                self.window(target, inner, Some(node));
            }
        } else {
            self.element(target, &setting);
        }
    }

    fn shape(&mut self, node: Node<'d, 'd>, name: &str, setting: Setting) {
        if !is_shape(name) {
            return self.ignore(if name == "text" { TEXT } else { name });
        }
        if !setting.visible {
            return self.ignore("hidden element");
        }
        if !setting.filled && !setting.stroked {
            return self.ignore("element without fill and stroke");
        }
        let subpaths = match shape(node, setting.size, MOST_CURVES.saturating_sub(self.curves)) {
            Ok(subpaths) => subpaths,
            Err((message, place)) => {
                return self.fail(place.unwrap_or(head(node)), message, "draw it again, or remove it from the file");
            }
        };
        for subpath in subpaths {
            self.curves += subpath.curves.len();
            self.strokes.push(Stroke {
                places: vec![head(node); subpath.curves.len()],
                curves: subpath.curves.iter().map(|curve| setting.map.curve(curve)).collect(),
                closed: subpath.closed,
                element: self.visits,
                painted: if setting.filled { Painted::Inside } else { Painted::Line },
                name: setting.used.clone().or_else(|| setting.ids.innermost()).unwrap_or_default(),
                ids: setting.ids.clone(),
                layers: setting.layers.clone(),
            });
        }
    }
}

/// The name of an element in the text.
fn head(node: Node<'_, '_>) -> Range<usize> {
    let start = node.range().start;
    start..start + 1 + node.tag_name().name().len()
}

/// How an element looks: the properties that are asked for, from its style or from attributes of their names.
struct Look<'n>([(&'static str, Option<&'n str>); 6]);

impl<'n> Look<'n> {
    fn of(node: Node<'n, '_>) -> Look<'n> {
        let mut found = ["display", "fill", "stroke", "visibility", "clip-path", "mask"]
            .map(|key| (key, node.attribute(key).map(str::trim)));
        // the style counts before the attributes, and the last of equal entries
        for (key, value) in node.attribute("style").into_iter().flat_map(|style| style.split(';')).filter_map(entry) {
            found.iter_mut().filter(|(own, _)| *own == key).for_each(|(_, own)| *own = Some(value));
        }
        Look(found)
    }

    fn get(&self, key: &str) -> Option<&'n str> {
        self.0.iter().find(|(own, _)| *own == key).and_then(|(_, value)| *value)
    }
}

fn entry(text: &str) -> Option<(&str, &str)> {
    text.split_once(':').map(|(key, value)| (key.trim(), value.trim()))
}
