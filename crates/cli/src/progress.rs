//! What is under way, on a terminal only, and only once it has taken a while.

use std::io::{self, IsTerminal};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Sooner than this nobody asks what is going on.
const AFTER: Duration = Duration::from_secs(1);
/// Between two steps of the wheel.
const TICK: Duration = Duration::from_millis(120);

/// A turning wheel with the time gone by; it is off the screen when this is dropped.
#[must_use = "it turns while this is held"]
pub struct Working(Option<(Sender<()>, JoinHandle<()>)>);

impl Working {
    /// Says what is being done, after a second of it.
    pub fn on(words: &'static str) -> Self {
        if !io::stderr().is_terminal() {
            return Self(None);
        }
        let (done, wait) = mpsc::channel();
        let turn = move || {
            if wait.recv_timeout(AFTER) != Err(RecvTimeoutError::Timeout) {
                return;
            }
            let wheel = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr()).with_elapsed(AFTER);
            let style = ProgressStyle::with_template("{spinner} {msg}, {elapsed}");
            wheel.set_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()));
            wheel.set_message(words);
            while wait.recv_timeout(TICK) == Err(RecvTimeoutError::Timeout) {
                wheel.tick();
            }
            wheel.finish_and_clear();
        };
        Self(Some((done, thread::spawn(turn))))
    }
}

impl Drop for Working {
    fn drop(&mut self) {
        if let Some((done, turning)) = self.0.take() {
            drop(done);
            // It only draws; whether it could is of no matter.
            let _ = turning.join();
        }
    }
}
