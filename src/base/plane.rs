//! The plane of the cell: points, vectors, segments, triangles and boxes.

/// A place in the plane of the cell, in metres: x along the flow from the inlet, y from the lower side wall.
pub type Point = [f64; 2];

/// A step in the plane, or a rate.
pub type Vector = [f64; 2];

/// Two points and what lies straight between them.
pub type Segment = [Point; 2];

/// The step from one point to another.
pub fn way(from: Point, to: Point) -> Vector {
    [to[0] - from[0], to[1] - from[1]]
}

/// The point so many steps away from another.
pub fn stepped(from: Point, count: f64, step: Vector) -> Point {
    [from[0] + count * step[0], from[1] + count * step[1]]
}

/// a - b, vector by vector.
pub fn differences(a: &[Vector], b: &[Vector]) -> Vec<Vector> {
    a.iter().zip(b).map(|(&a, &b)| way(b, a)).collect()
}

/// a + b, vector by vector.
pub fn sums(a: &[Vector], b: &[Vector]) -> Vec<Vector> {
    a.iter().zip(b).map(|(&a, &b)| stepped(a, 1.0, b)).collect()
}

/// Scalar product.
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The component across the plane of the vector product: positive where b stands to the left of a.
pub fn cross(a: Vector, b: Vector) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// The vector turned left by a right angle.
pub fn left(v: Vector) -> Vector {
    [-v[1], v[0]]
}

/// Length of a vector.
pub fn length(v: Vector) -> f64 {
    v[0].hypot(v[1])
}

/// Square of the length of a vector.
pub fn square(v: Vector) -> f64 {
    dot(v, v)
}

/// The vector of length 1 in the same direction; none of zero.
pub fn unit(v: Vector) -> Option<Vector> {
    let length = length(v);
    (length > 0.0).then(|| [v[0] / length, v[1] / length])
}

/// Left turn from one direction into another, rad in [-pi, pi].
pub fn turn(from: Vector, to: Vector) -> f64 {
    cross(from, to).atan2(dot(from, to))
}

/// Distance of two points.
pub fn distance(p: Point, q: Point) -> f64 {
    length(way(p, q))
}

/// Square of the distance of two points.
pub fn distance_squared(p: Point, q: Point) -> f64 {
    square(way(p, q))
}

/// The point midway between two others.
pub fn middle(p: Point, q: Point) -> Point {
    [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])]
}

/// The point a fraction of the way from one point to another, exact at both ends.
pub fn between(p: Point, q: Point, fraction: f64) -> Point {
    [0, 1].map(|k| (1.0 - fraction) * p[k] + fraction * q[k])
}

/// How far along a segment, as a fraction in [0, 1], its point nearest to p stands; 0 on a segment without length.
pub fn foot(p: Point, [a, b]: Segment) -> f64 {
    let along = way(a, b);
    let fraction = dot(way(a, p), along) / square(along);
    if fraction.is_nan() { 0.0 } else { fraction.clamp(0.0, 1.0) }
}

/// The point of a segment nearest to p.
pub fn nearest_on_segment(p: Point, segment: Segment) -> Point {
    let [a, b] = segment;
    match foot(p, segment) {
        // exact at its end
        1.0 => b,
        fraction => stepped(a, fraction, way(a, b)),
    }
}

/// Distance of a point from a segment.
pub fn distance_to_segment(p: Point, segment: Segment) -> f64 {
    distance(p, nearest_on_segment(p, segment))
}

/// Twice the signed area of a triangle with an exact sign: positive if a, b, c stand counter-clockwise, zero if on a line
/// (Shewchuk 1997, Discrete Comput. Geom. 18, 305).
pub fn orientation(a: Point, b: Point, c: Point) -> f64 {
    let coord = |p: Point| robust::Coord { x: p[0], y: p[1] };
    robust::orient2d(coord(a), coord(b), coord(c))
}

/// Whether two segments have a point in common, exactly.
pub fn segments_meet(p: Segment, q: Segment) -> bool {
    let apart = |a: f64, b: f64| (a > 0.0 && b > 0.0) || (a < 0.0 && b < 0.0);
    Rect::of(p).overlaps(&Rect::of(q))
        && !apart(orientation(p[0], p[1], q[0]), orientation(p[0], p[1], q[1]))
        && !apart(orientation(q[0], q[1], p[0]), orientation(q[0], q[1], p[1]))
}

/// Whether each of two segments has its ends strictly on either side of the other, exactly.
pub fn segments_cross(p: Segment, q: Segment) -> bool {
    let parts = |[a, b]: Segment, s: Segment| orientation(a, b, s[0]) * orientation(a, b, s[1]) < 0.0;
    parts(p, q) && parts(q, p)
}

/// Nearest points of two segments that do not meet, and their distance.
pub fn nearest_points(p: Segment, q: Segment) -> (Point, Point, f64) {
    let on_q = p.map(|end| (end, nearest_on_segment(end, q)));
    let on_p = q.map(|end| (nearest_on_segment(end, p), end));
    on_q.into_iter()
        .chain(on_p)
        .map(|(a, b)| (a, b, distance(a, b)))
        .fold((p[0], q[0], f64::INFINITY), |best, next| if next.2 < best.2 { next } else { best })
}

/// Area of a triangle, positive when its corners stand counter-clockwise.
pub fn triangle_area([a, b, c]: [Point; 3]) -> f64 {
    0.5 * cross(way(a, b), way(a, c))
}

/// Area of a closed polygon from its corners in order, positive when they stand counter-clockwise.
pub fn polygon_area(corners: &[Point]) -> f64 {
    // about one of the corners, so that little cancels
    let Some((&origin, rest)) = corners.split_first() else { return 0.0 };
    rest.windows(2).map(|pair| triangle_area([origin, pair[0], pair[1]])).sum()
}

/// Whether a point lies inside a closed outline, by the crossings of the ray to its right.
pub fn inside(outline: &[Point], [x, y]: Point) -> bool {
    let count = outline.len();
    let crossings = (0..count).filter(|&k| {
        let (a, b) = (outline[k], outline[(k + 1) % count]);
        (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossings.count() % 2 == 1
}

/// The weights with which the corners of a triangle give a point; their sum is 1.
pub fn barycentric(p: Point, corners: [Point; 3]) -> [f64; 3] {
    let [a, b, c] = corners.map(|corner| way(p, corner));
    let doubled = 2.0 * triangle_area(corners);
    [cross(b, c), cross(c, a), cross(a, b)].map(|part| part / doubled)
}

/// The mean of the corners of a triangle.
pub fn centroid([a, b, c]: [Point; 3]) -> Point {
    [0, 1].map(|k| (a[k] + b[k] + c[k]) / 3.0)
}

/// An axis-parallel box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Least x and y.
    pub low: Point,
    /// Largest x and y.
    pub high: Point,
}

impl Rect {
    /// The box of nothing: every other one holds it.
    pub const EMPTY: Rect = Rect { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };

    /// The least box that holds all points.
    pub fn of(points: impl IntoIterator<Item = Point>) -> Rect {
        points.into_iter().fold(Rect::EMPTY, |all, p| all.with(Rect { low: p, high: p }))
    }

    /// The least box that holds both.
    pub fn with(self, other: Rect) -> Rect {
        Rect {
            low: [self.low[0].min(other.low[0]), self.low[1].min(other.low[1])],
            high: [self.high[0].max(other.high[0]), self.high[1].max(other.high[1])],
        }
    }

    /// This box, wider by `margin` on all sides.
    pub fn grown(self, margin: f64) -> Rect {
        Rect { low: self.low.map(|x| x - margin), high: self.high.map(|x| x + margin) }
    }

    /// Extent along x and y.
    pub fn size(self) -> [f64; 2] {
        way(self.low, self.high)
    }

    /// The longer of both extents.
    pub fn extent(self) -> f64 {
        let [along, across] = self.size();
        along.max(across)
    }

    /// Length of its diagonal.
    pub fn diagonal(self) -> f64 {
        length(self.size())
    }

    /// Its middle.
    pub fn middle(self) -> Point {
        middle(self.low, self.high)
    }

    /// Whether the two have a point in common.
    pub fn overlaps(&self, other: &Rect) -> bool {
        (0..2).all(|k| self.low[k] <= other.high[k] && other.low[k] <= self.high[k])
    }

    /// Whether the other one lies in it.
    pub fn holds(&self, other: &Rect) -> bool {
        (0..2).all(|k| self.low[k] <= other.low[k] && other.high[k] <= self.high[k])
    }

    /// Distance of two boxes, zero where they overlap.
    pub fn distance(&self, other: &Rect) -> f64 {
        length([0, 1].map(|k| (self.low[k] - other.high[k]).max(other.low[k] - self.high[k]).max(0.0)))
    }

    /// Squared distance of a point, zero inside.
    pub fn distance_squared(&self, p: Point) -> f64 {
        square([0, 1].map(|k| (self.low[k] - p[k]).max(p[k] - self.high[k]).max(0.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 3-4-5 triangle, by hand.
    #[test]
    fn a_triangle_has_its_sides_area_and_weights() {
        let corners = [[1.0, 1.0], [5.0, 1.0], [1.0, 4.0]];
        let [a, b, c] = corners;
        assert_eq!((distance(b, c), distance_squared(a, b), triangle_area(corners)), (5.0, 16.0, 6.0));
        assert_eq!(triangle_area([a, c, b]), -6.0);
        assert_eq!((dot(way(a, b), way(a, c)), cross(way(a, b), way(a, c))), (0.0, 12.0));
        assert_eq!(turn(way(a, b), way(a, c)), std::f64::consts::FRAC_PI_2);
        assert_eq!(left(way(a, b)), [0.0, 4.0]);
        assert_eq!((unit([3.0, -4.0]), unit([0.0, 0.0])), (Some([0.6, -0.8]), None));
        // the middle of the long side is half of b and half of c, and a corner is itself
        assert_eq!(barycentric(middle(b, c), corners), [0.0, 0.5, 0.5]);
        assert_eq!(barycentric(a, corners), [1.0, 0.0, 0.0]);
        assert_eq!(centroid(corners), [7.0 / 3.0, 2.0]);
        let end = [0.1 + 0.2, 1.0 / 3.0];
        assert_eq!(between([-1.0 / 3.0, 0.7], end, 1.0), end, "to the last bit");
    }

    #[test]
    fn a_polygon_far_away_keeps_its_area() {
        // an L of three unit squares
        let ell = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        assert_eq!(polygon_area(&ell), 3.0);
        assert_eq!(polygon_area(&ell.map(|[x, y]| [y, x])), -3.0);
        // where coordinates have a rounding of 1e-9, so has no term more than a few of them
        assert!((polygon_area(&ell.map(|[x, y]| [x + 1e7, y - 3e7])) - 3.0).abs() < 1e-8);
        assert_eq!((polygon_area(&[]), polygon_area(&ell[..2])), (0.0, 0.0));
    }

    #[test]
    fn nearest_places_of_segments() {
        let segment = [[0.0, 0.0], [4.0, 0.0]];
        for (p, near, away) in
            [([1.0, 2.0], [1.0, 0.0], 2.0), ([-3.0, 4.0], [0.0, 0.0], 5.0), ([7.0, 4.0], [4.0, 0.0], 5.0)]
        {
            assert_eq!((nearest_on_segment(p, segment), distance_to_segment(p, segment)), (near, away));
        }
        assert_eq!(nearest_on_segment([1.0, 1.0], [[2.0, 2.0]; 2]), [2.0, 2.0]);
        // the end is met to the last bit
        let end = [0.1 + 0.2, 1.0 / 3.0];
        assert_eq!(nearest_on_segment([9.0, 9.0], [[-1.0 / 3.0, 0.7], end]), end);
        let above = [[1.0, 1.0], [2.0, 3.0]];
        assert_eq!(nearest_points(segment, above), ([1.0, 0.0], [1.0, 1.0], 1.0));
        assert_eq!(nearest_points(above, segment), ([1.0, 1.0], [1.0, 0.0], 1.0));
        assert!(!segments_meet(segment, above) && segments_meet(segment, [[1.0, 0.0], [2.0, 3.0]]));
        assert!(!segments_meet(segment, [[5.0, 0.0], [6.0, 0.0]]), "on one line, but apart");
    }

    #[test]
    fn boxes_hold_what_they_are_made_of() {
        let rect = Rect::of([[1.0, 5.0], [4.0, 1.0]]);
        assert_eq!((rect.size(), rect.extent(), rect.diagonal(), rect.middle()), ([3.0, 4.0], 4.0, 5.0, [2.5, 3.0]));
        assert_eq!((rect.distance_squared([2.0, 2.0]), rect.distance_squared([-2.0, 9.0])), (0.0, 25.0));
        assert_eq!((rect.distance(&Rect::of([[7.0, 9.0], [8.0, 9.5]])), rect.distance(&rect)), (5.0, 0.0));
        assert_eq!(rect.grown(1.0), Rect { low: [0.0; 2], high: [5.0, 6.0] });
        assert!(rect.overlaps(&Rect::of([[4.0, 5.0]])) && !rect.overlaps(&Rect::of([[4.1, 5.0]])));
        assert!(rect.holds(&rect) && rect.grown(0.1).holds(&rect) && !rect.holds(&rect.grown(0.1)));
        assert!(!rect.holds(&Rect::of([[2.0, 2.0], [3.0, 6.0]])), "it stands out on one side");
        assert!(!Rect::EMPTY.overlaps(&rect) && rect.holds(&Rect::EMPTY));
        assert_eq!(Rect::EMPTY.with(rect), rect);
    }
}
