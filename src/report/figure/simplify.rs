//! Lines and outlines with no more places than a drawing can show.

use crate::base::Point;
use crate::base::plane;

/// Leaves out places of a line as long as it moves by less than a tolerance (Douglas & Peucker 1973). The ends stay.
pub fn simplified(line: &[Point], tolerance: f64) -> Vec<Point> {
    let mut near: Vec<Point> = Vec::with_capacity(line.len());
    for (k, p) in line.iter().enumerate() {
        let far = |q: &Point| plane::distance(*p, *q) > 0.5 * tolerance;
        if k + 1 == line.len() || near.last().is_none_or(far) {
            near.push(*p);
        }
    }
    if near.len() < 3 {
        return near;
    }
    let mut keep = vec![false; near.len()];
    (keep[0], keep[near.len() - 1]) = (true, true);
    let mut spans = vec![(0, near.len() - 1)];
    while let Some((a, b)) = spans.pop() {
        let farthest = (a + 1..b)
            .map(|k| (k, plane::distance_to_segment(near[k], [near[a], near[b]])))
            .max_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((k, _)) = farthest.filter(|(_, distance)| *distance > tolerance) {
            keep[k] = true;
            spans.extend([(a, k), (k, b)]);
        }
    }
    near.into_iter().zip(keep).filter_map(|(p, keep)| keep.then_some(p)).collect()
}

/// The same for a closed outline; nothing of one too small to be seen.
pub fn simplified_outline(outline: &[Point], tolerance: f64) -> Vec<Point> {
    let Some(&first) = outline.first() else { return Vec::new() };
    let distance = |p: &Point| plane::distance(*p, first);
    let far = (0..outline.len()).max_by(|&i, &j| distance(&outline[i]).total_cmp(&distance(&outline[j]))).unwrap_or(0);
    if distance(&outline[far]) < tolerance {
        return Vec::new();
    }
    let mut line = simplified(&outline[..=far], tolerance);
    let back: Vec<Point> = outline[far..].iter().copied().chain([first]).collect();
    let back = simplified(&back, tolerance);
    line.extend(back.iter().skip(1).take(back.len().saturating_sub(2)));
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn simplifying_keeps_within_the_tolerance() {
        let circle: Vec<Point> = (0..1000).map(|k| f64::from(k) * 0.00628318).map(|a| [a.cos(), a.sin()]).collect();
        let few = simplified_outline(&circle, 1e-3);
        // the sagitta of a chord of n is pi^2/(2 n^2): n = 70 for 1e-3, at most twice as many
        assert!((50..150).contains(&few.len()), "{}", few.len());
        assert!(few.iter().all(|p| (p[0].hypot(p[1]) - 1.0).abs() < 1e-9));
        assert!(simplified_outline(&circle, 5.0).is_empty());
    }
}
