//! Base64 with the standard alphabet and padding (RFC 4648, section 4), two letters per look-up.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// The two letters of each 12-bit number.
static PAIRS: [[u8; 2]; 4096] = pairs();

const fn pairs() -> [[u8; 2]; 4096] {
    let mut pairs = [[0; 2]; 4096];
    let mut i = 0;
    while i < 4096 {
        pairs[i] = [LETTERS[i >> 6], LETTERS[i & 63]];
        i += 1;
    }
    pairs
}

/// Replaces `out` by the letters for `bytes`. Pieces whose lengths are multiples of three may be joined.
pub(super) fn encode(bytes: &[u8], out: &mut Vec<u8>) {
    out.clear();
    out.resize(bytes.len().div_ceil(3) * 4, b'=');
    let groups = bytes.chunks_exact(3);
    let rest = groups.remainder();
    for (group, letters) in groups.zip(out.chunks_exact_mut(4)) {
        let n = usize::from(group[0]) << 16 | usize::from(group[1]) << 8 | usize::from(group[2]);
        letters[..2].copy_from_slice(&PAIRS[n >> 12]);
        letters[2..].copy_from_slice(&PAIRS[n & 4095]);
    }
    let Some(start) = out.len().checked_sub(4) else { return };
    match *rest {
        [a] => out[start..start + 2].copy_from_slice(&PAIRS[usize::from(a) << 4]),
        [a, b] => {
            out[start..start + 2].copy_from_slice(&PAIRS[usize::from(a) << 4 | usize::from(b) >> 4]);
            out[start + 2] = LETTERS[usize::from(b & 15) << 2];
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::encode;

    /// The vectors of RFC 4648, section 10.
    #[test]
    fn published_vectors() {
        let vectors =
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg=="), ("fooba", "Zm9vYmE=")];
        for (bytes, letters) in vectors.into_iter().chain([("foobar", "Zm9vYmFy")]) {
            let mut out = vec![1, 2, 3];
            encode(bytes.as_bytes(), &mut out);
            assert_eq!(out, letters.as_bytes());
        }
    }
}
