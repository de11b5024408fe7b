//! Fields as plain data: a name, a unit and values, which a module of the theory hands out and files write.

use std::borrow::Cow;

/// The values of a field, one for each vertex or triangle.
#[derive(Debug, Clone, PartialEq)]
pub enum Values<'a> {
    /// Numbers.
    Scalar(Cow<'a, [f64]>),
    /// Vectors along the plates.
    Plane(Cow<'a, [[f64; 2]]>),
}

/// A field on the vertices or the triangles of a mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Field<'a> {
    /// Lower case with underscores, no unit.
    pub name: &'static str,
    /// SI unit, "1" for a plain number.
    pub unit: &'static str,
    /// The values.
    pub values: Values<'a>,
}

impl<'a> Field<'a> {
    /// A field of numbers.
    pub fn scalar(name: &'static str, unit: &'static str, values: impl Into<Cow<'a, [f64]>>) -> Field<'a> {
        Field { name, unit, values: Values::Scalar(values.into()) }
    }

    /// A field of vectors along the plates.
    pub fn plane(name: &'static str, unit: &'static str, values: impl Into<Cow<'a, [[f64; 2]]>>) -> Field<'a> {
        Field { name, unit, values: Values::Plane(values.into()) }
    }
}

/// Fields of one subject, and in a sentence what is particular about them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fields<'a> {
    /// On the vertices.
    pub vertices: Vec<Field<'a>>,
    /// On the triangles.
    pub triangles: Vec<Field<'a>>,
    /// What a reader of the file must know.
    pub meaning: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    /// Adds those of another subject.
    pub fn extend(&mut self, other: Fields<'a>) {
        self.vertices.extend(other.vertices);
        self.triangles.extend(other.triangles);
        self.meaning.extend(other.meaning);
    }
}
