//! How a camera was held, from what it notes in the file.
//!
//! Source: CIPA DC-008 (Exif 2.32), tag 0x0112 "Orientation" of the first directory of a TIFF structure.

const ORIENTATION: u16 = 0x0112;
/// A 16-bit number, in TIFF's numbering of types.
const SHORT: u16 = 3;

/// What brings the stored pixels upright: first exchange rows and columns, then count a direction backwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Turn {
    exchange: bool,
    x_backwards: bool,
    y_backwards: bool,
}

/// The turn noted in an Exif block; none if it is upright, says nothing or is damaged.
pub(super) fn camera_turn(exif: &[u8]) -> Option<Turn> {
    let is_little = match exif.get(..4)? {
        [0x49, 0x49, 42, 0] => true,
        [0x4d, 0x4d, 0, 42] => false,
        _ => return None,
    };
    let short = |at: usize| -> Option<u16> {
        let bytes = exif.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if is_little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) })
    };
    let long = |at: usize| -> Option<usize> {
        let [first, second] = [usize::from(short(at)?), usize::from(short(at + 2)?)];
        Some(if is_little { second << 16 | first } else { first << 16 | second })
    };
    let directory = long(4)?;
    let entries = usize::from(short(directory)?);
    let mut places = (0..entries).map(|k| directory + 2 + 12 * k);
    let entry = places.find(|&at| short(at) == Some(ORIENTATION))?;
    // one number of two bytes stands in the entry itself
    if short(entry + 2)? != SHORT || long(entry + 4)? != 1 {
        return None;
    }
    match short(entry + 8)? {
        orientation @ 2..=8 => Some(Turn {
            exchange: orientation >= 5,
            x_backwards: matches!(orientation, 2 | 3 | 7 | 8),
            y_backwards: matches!(orientation, 3 | 4 | 6 | 7),
        }),
        _ => None,
    }
}

/// The pixels of a picture, of so many bytes each, turned upright; with the new width and height.
pub(super) fn turned(bytes: &[u8], each: usize, [width, height]: [usize; 2], turn: Turn) -> ([usize; 2], Vec<u8>) {
    let [across, down] = if turn.exchange { [height, width] } else { [width, height] };
    let source = |x: usize, y: usize| {
        let [u, v] = if turn.exchange { [y, x] } else { [x, y] };
        let u = if turn.x_backwards { width - 1 - u } else { u };
        let v = if turn.y_backwards { height - 1 - v } else { v };
        v * width + u
    };
    let mut moved = Vec::with_capacity(bytes.len());
    for y in 0..down {
        for x in 0..across {
            let from = each * source(x, y);
            moved.extend_from_slice(&bytes[from..from + each]);
        }
    }
    ([across, down], moved)
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// An Exif block that notes an orientation, behind another entry.
    pub fn exif(orientation: u16, is_little: bool) -> Vec<u8> {
        let short = |n: u16| if is_little { n.to_le_bytes() } else { n.to_be_bytes() };
        let long = |n: u32| if is_little { n.to_le_bytes() } else { n.to_be_bytes() };
        let mut bytes = if is_little { b"II\x2a\0".to_vec() } else { b"MM\0\x2a".to_vec() };
        bytes.extend(long(8));
        bytes.extend(short(2));
        for (tag, value) in [(0x0100, 7), (ORIENTATION, orientation)] {
            bytes.extend(short(tag));
            bytes.extend(short(SHORT));
            bytes.extend(long(1));
            bytes.extend(short(value));
            bytes.extend([0, 0]);
        }
        bytes.extend(long(0));
        bytes
    }

    /// Where row 0 and column 0 of the stored picture stand on the upright one, in the words of the standard's table.
    #[test]
    fn the_eight_ways_of_holding_a_camera() {
        // stored: 0 1 2 / 3 4 5
        let upright: [(u16, usize, [u8; 6]); 8] = [
            (1, 3, [0, 1, 2, 3, 4, 5]), // row 0 top, column 0 left
            (2, 3, [2, 1, 0, 5, 4, 3]), // top, right
            (3, 3, [5, 4, 3, 2, 1, 0]), // bottom, right
            (4, 3, [3, 4, 5, 0, 1, 2]), // bottom, left
            (5, 2, [0, 3, 1, 4, 2, 5]), // left, top
            (6, 2, [3, 0, 4, 1, 5, 2]), // right, top
            (7, 2, [5, 2, 4, 1, 3, 0]), // right, bottom
            (8, 2, [2, 5, 1, 4, 0, 3]), // left, bottom
        ];
        for (orientation, width, expected) in upright {
            for is_little in [true, false] {
                // two bytes a pixel
                let stored: Vec<u8> = (0..6).flat_map(|k| [k, k + 100]).collect();
                let (size, found) = match camera_turn(&exif(orientation, is_little)) {
                    Some(turn) => turned(&stored, 2, [3, 2], turn),
                    None => ([3, 2], stored),
                };
                let wanted: Vec<u8> = expected.iter().flat_map(|&k| [k, k + 100]).collect();
                assert_eq!((size[0], found), (width, wanted), "{orientation}");
            }
        }
    }

    #[test]
    fn a_damaged_note_turns_nothing() {
        let whole = exif(6, true);
        assert!(camera_turn(&whole).is_some());
        // the last four bytes name a next directory, two before them fill the entry
        for length in 0..whole.len() - 6 {
            assert_eq!(camera_turn(&whole[..length]), None);
        }
        assert_eq!(camera_turn(&exif(9, true)), None);
        let mut far = whole.clone();
        far[4..8].copy_from_slice(&[0xff; 4]);
        assert_eq!(camera_turn(&far), None);
    }
}
