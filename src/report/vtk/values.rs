//! Sequences of numbers as little-endian bytes, any part of them at a time.

use super::data::{Array, Data, Places};
use std::ops::Range;

/// A sequence to be stored.
#[derive(Debug, Clone, Copy)]
pub(super) enum Values<'a> {
    /// Float64.
    Scalar(&'a [f64]),
    /// Float64, three components, the last 0.
    Plane(&'a [[f64; 2]]),
    /// Float64, three components.
    Space(&'a [[f64; 3]]),
    /// Int8.
    Int8(&'a [i8]),
    /// UInt8.
    UInt8(&'a [u8]),
    /// Int32.
    Int32(&'a [i32]),
    /// Int32, of values known to be below 2^31.
    Index(&'a [u32]),
    /// Int32: each, 2 each, 3 each, ...
    Ends { count: usize, each: usize },
    /// Int32: 0, 1, 2, ...
    Numbers { count: usize },
    /// UInt8: the same value each time.
    Same { count: usize, value: u8 },
}

impl Values<'_> {
    /// Number of entries.
    pub(super) fn len(&self) -> usize {
        match self {
            Values::Scalar(v) => v.len(),
            Values::Plane(v) => v.len(),
            Values::Space(v) => v.len(),
            Values::Int8(v) => v.len(),
            Values::UInt8(v) => v.len(),
            Values::Int32(v) => v.len(),
            Values::Index(v) => v.len(),
            Values::Ends { count, .. } | Values::Numbers { count } | Values::Same { count, .. } => *count,
        }
    }

    /// Numbers per entry.
    pub(super) fn components(&self) -> usize {
        match self {
            Values::Plane(_) | Values::Space(_) => 3,
            _ => 1,
        }
    }

    /// The type's name in the format and its size in bytes.
    pub(super) fn kind(&self) -> (&'static str, usize) {
        match self {
            Values::Scalar(_) | Values::Plane(_) | Values::Space(_) => ("Float64", 8),
            Values::Int8(_) => ("Int8", 1),
            Values::UInt8(_) | Values::Same { .. } => ("UInt8", 1),
            Values::Int32(_) | Values::Index(_) | Values::Ends { .. } | Values::Numbers { .. } => ("Int32", 4),
        }
    }

    /// Size of the whole, bytes.
    pub(super) fn bytes(&self) -> usize {
        self.len() * self.components() * self.kind().1
    }

    /// Appends the bytes of some of the numbers, counted through all components.
    pub(super) fn append(&self, part: Range<usize>, out: &mut Vec<u8>) {
        match self {
            Values::Scalar(v) => floats(&v[part], out),
            Values::Space(v) => floats(&v.as_flattened()[part], out),
            Values::Plane(v) => {
                let number = |i: usize| v[i / 3].get(i % 3).map_or(0.0, |value| *value).to_le_bytes();
                let (first, last) = (part.start.div_ceil(3), part.end / 3);
                let whole = if first < last { first..last } else { 0..0 };
                let (head, tail) =
                    if whole.is_empty() { (part, 0..0) } else { (part.start..3 * first, 3 * last..part.end) };
                head.for_each(|i| out.extend_from_slice(&number(i)));
                for [x, y] in &v[whole] {
                    let mut entry = [0; 24];
                    entry[..8].copy_from_slice(&x.to_le_bytes());
                    entry[8..16].copy_from_slice(&y.to_le_bytes());
                    out.extend_from_slice(&entry);
                }
                tail.for_each(|i| out.extend_from_slice(&number(i)));
            }
            Values::Int8(v) => out.extend(v[part].iter().map(|value| value.to_le_bytes()[0])),
            Values::UInt8(v) => out.extend_from_slice(&v[part]),
            Values::Int32(v) => v[part].iter().for_each(|value| out.extend_from_slice(&value.to_le_bytes())),
            Values::Index(v) => v[part].iter().for_each(|value| out.extend_from_slice(&value.to_le_bytes())),
            Values::Ends { each, .. } => part.for_each(|i| integer(each * (i + 1), out)),
            Values::Numbers { .. } => part.for_each(|i| integer(i, out)),
            Values::Same { value, .. } => out.resize(out.len() + part.len(), *value),
        }
    }

    /// Appends a part of what is stored: the size of the whole in eight bytes, then the bytes of the numbers. Start and end
    /// are multiples of eight, or the end is that of the whole, so that no number is cut.
    pub(super) fn append_stored(&self, part: Range<usize>, out: &mut Vec<u8>) {
        let size = self.kind().1;
        if part.start == 0 {
            out.extend_from_slice(&(self.bytes() as u64).to_le_bytes());
        }
        self.append((part.start.max(8) - 8) / size..(part.end.max(8) - 8) / size, out);
    }

    /// Size of what is stored, bytes.
    pub(super) fn stored_bytes(&self) -> usize {
        8 + self.bytes()
    }
}

fn floats(values: &[f64], out: &mut Vec<u8>) {
    values.iter().for_each(|value| out.extend_from_slice(&value.to_le_bytes()));
}

fn integer(value: usize, out: &mut Vec<u8>) {
    out.extend_from_slice(&(value as u32).to_le_bytes());
}

impl<'a> Array<'a> {
    pub(super) fn values(&self) -> Values<'a> {
        match self.data {
            Data::Scalar(v) => Values::Scalar(v),
            Data::Plane(v) => Values::Plane(v),
            Data::Space(v) => Values::Space(v),
            Data::Int8(v) => Values::Int8(v),
            Data::UInt8(v) => Values::UInt8(v),
            Data::Int32(v) => Values::Int32(v),
        }
    }
}

impl<'a> Places<'a> {
    pub(super) fn values(&self) -> Values<'a> {
        match self {
            Places::Plane(v) => Values::Plane(v),
            Places::Space(v) => Values::Space(v),
        }
    }
}
