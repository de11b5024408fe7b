//! How much reading a drawing takes, what is used many times counted each time: a small file can stand for a huge drawing.

/// Most bytes of a file that are read, counted each time.
const MOST_BYTES: usize = 256 << 20;

/// The bytes read so far.
#[derive(Debug, Default)]
pub(super) struct Effort(usize);

impl Effort {
    /// Adds so many bytes.
    ///
    /// # Errors
    /// What is too much, when there are too many.
    pub fn add(&mut self, bytes: usize) -> Result<(), String> {
        self.0 = self.0.saturating_add(bytes);
        if self.0 > MOST_BYTES {
            let most = MOST_BYTES >> 20;
            return Err(format!("the drawing has more than {most} MiB when what is used many times is written out"));
        }
        Ok(())
    }
}

/// What can be done about it.
pub(super) const REMEDY: &str = "keep the outline only, and write out what is used many times";
