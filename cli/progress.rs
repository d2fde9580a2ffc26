//! How far a long run is, for a person who waits: on a terminal, and nowhere else.

use indicatif::{ProgressBar, ProgressStyle};

/// A bar on the terminal of errors; nothing where that is none.
pub(crate) fn bar(length: u64, template: &str) -> ProgressBar {
    let bar = ProgressBar::new(length);
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar
}
