//! What a stroke may be called by.

use crate::base::text::{printable, shortened};
use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

/// Names around a stroke, innermost first. Strokes of one group share those of the group: a file of many short paths in groups of long
/// names would otherwise fill the memory.
#[derive(Debug, Clone, Default)]
pub(super) struct Names(Option<Arc<Link>>);

#[derive(Debug)]
struct Link {
    name: String,
    around: Names,
}

impl Names {
    /// These with one more inside them, without control characters.
    pub fn with(&self, name: &str) -> Names {
        Names(Some(Arc::new(Link { name: printable(name).into_owned(), around: self.clone() })))
    }

    pub fn iter(&self) -> impl Iterator<Item = &str> {
        std::iter::successors(self.0.as_ref(), |link| link.around.0.as_ref()).map(|link| link.name.as_str())
    }

    /// The innermost name, short enough for every message.
    pub fn innermost(&self) -> Option<String> {
        self.iter().next().map(shortened)
    }

    pub fn contains(&self, name: &str) -> bool {
        self.iter().any(|own| own == name)
    }

    /// All names of many, those that are shared looked at once.
    pub fn of_all<'n>(many: impl Iterator<Item = &'n Names>) -> BTreeSet<&'n str> {
        let (mut seen, mut found) = (HashSet::new(), BTreeSet::new());
        for names in many {
            let links = std::iter::successors(names.0.as_ref(), |link| link.around.0.as_ref());
            // where one is known, all around it are
            found.extend(links.take_while(|link| seen.insert(Arc::as_ptr(link))).map(|link| link.name.as_str()));
        }
        found
    }
}

impl PartialEq for Names {
    fn eq(&self, other: &Names) -> bool {
        self.iter().eq(other.iter())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_run_outwards_and_are_shared() {
        let group = Names::default().with("harbour").with("pier\u{1b}s");
        let (one, two) = (group.with("first"), group.with("second"));
        assert_eq!(one.iter().collect::<Vec<_>>(), ["first", "pier\u{fffd}s", "harbour"]);
        assert!(one.contains("harbour") && !one.contains("second") && one != two && one == group.with("first"));
        let none = Names::default();
        let all = Names::of_all([&one, &two, &none, &group].into_iter());
        assert_eq!(all.into_iter().collect::<Vec<_>>(), ["first", "harbour", "pier\u{fffd}s", "second"]);
        let long = Names::default().with(&"x".repeat(1000));
        assert_eq!(long.innermost().map(|name| name.len()), Some(43));
        assert_eq!(Names::default().innermost(), None);
    }
}
