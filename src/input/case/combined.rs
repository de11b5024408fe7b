//! One hash over a case and every file it reads.

use super::{Case, InputFile};
use crate::base::hash::sha256;

impl Case {
    /// Adds a file that was read; one that was read before with the same bytes stands in the list already.
    pub fn add_input(&mut self, input: InputFile) {
        if !self.inputs.contains(&input) {
            self.inputs.push(input);
        }
    }

    /// One hash over the case and every file it reads: SHA-256 of the list of their own hashes in hexadecimal, one a line, the case
    /// first, then the files in the order of [`Case::inputs`].
    pub fn combined_sha256(&self) -> String {
        let own = std::iter::once(&self.sha256).chain(self.inputs.iter().map(|input| &input.sha256));
        sha256(own.map(|hash| format!("{hash}\n")).collect::<String>().as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "[cell]\nlength = 2\nwidth = 1\ngap = 1e-3\n[fluid]\nname = 'water'\ntemperature = '20 degC'\n[drive]\n\
                        mean_speed = 1e-3\n";

    /// What `sha256sum` makes of the list, as the reference says: printf of the two hashes, one a line.
    #[test]
    fn the_hash_covers_the_case_and_every_file_once() {
        let mut case = super::super::parse(TEXT, "pier.toml".as_ref()).into_result().unwrap();
        let alone = case.combined_sha256();
        assert_eq!(alone, sha256(format!("{}\n", sha256(TEXT.as_bytes())).as_bytes()));
        let input = |bytes: &[u8]| InputFile { file: "seal.svg".into(), sha256: sha256(bytes) };
        case.add_input(input(b"abc"));
        let with = case.combined_sha256();
        assert_eq!(with, sha256(format!("{}\n{}\n", case.sha256, sha256(b"abc")).as_bytes()));
        case.add_input(input(b"abc"));
        assert_eq!((case.inputs.len(), case.combined_sha256()), (1, with.clone()));
        case.add_input(input(b"abd"));
        assert!(case.inputs.len() == 2 && case.combined_sha256() != with && with != alone);
    }
}
