//! A bar with the time left, on a terminal only.

use std::io::{self, IsTerminal};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// The bar.
pub struct Progress(Option<ProgressBar>);

impl Progress {
    /// Of so many cells, some of them done.
    pub fn start(cells: u64, done: u64) -> Self {
        if !io::stderr().is_terminal() {
            return Self(None);
        }
        let bar = ProgressBar::with_draw_target(Some(cells), ProgressDrawTarget::stderr());
        let style = ProgressStyle::with_template("{bar:30} {pos} of {len} laps, {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        bar.set_position(done);
        bar.reset_eta();
        Self(Some(bar))
    }

    /// One more cell.
    pub fn one(&self) {
        if let Some(bar) = &self.0 {
            bar.inc(1);
        }
    }

    /// Takes it off the screen, for the result to stand alone.
    pub fn clear(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
