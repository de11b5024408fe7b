//! SHA-256 of what is read and written, in hexadecimal.

use sha2::{Digest, Sha256};
use std::io::{self, Read};

/// Of bytes.
///
/// ```
/// // FIPS 180-2, appendix B.1
/// assert!(twinplate::base::hash::sha256(b"abc").starts_with("ba7816bf8f01cfea"));
/// ```
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Of all that a reader gives.
///
/// # Errors
/// Those of the reader.
pub fn sha256_of(mut reader: impl Read) -> io::Result<String> {
    let (mut hasher, mut bytes) = (Sha256::new(), vec![0; 1 << 16]);
    loop {
        match reader.read(&mut bytes)? {
            0 => return Ok(hex(&hasher.finalize())),
            count => hasher.update(&bytes[..count]),
        }
    }
}

fn hex(digest: &[u8]) -> String {
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}
