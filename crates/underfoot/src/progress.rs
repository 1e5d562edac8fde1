//! How far a long work on a study is, on standard error, where a person can see it.
use archive::verify::Progress;
use indicatif::{ProgressBar, ProgressStyle};

/// A bar for work that tells how far it is.
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that shows nothing yet.
    pub fn new() -> Self {
        let bar = ProgressBar::new(0);
        if let Ok(style) = ProgressStyle::with_template("{msg:<10} {pos} of {len}  {bar:40}  {eta} left") {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// Shows how far it is.
    pub fn show(&self, progress: Progress) {
        if self.0.message() != progress.doing {
            self.0.reset();
            self.0.set_message(progress.doing);
        }
        self.0.set_length(progress.of as u64);
        self.0.set_position(progress.done as u64);
    }
}

impl Default for Bar {
    fn default() -> Self {
        Self::new()
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
