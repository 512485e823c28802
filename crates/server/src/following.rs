//! Several programs serve one laboratory in a database: what one records, the others show.

use crate::app::App;
use stonewear_runtime::{Follower, Heard};

/// Follows what other programs append, until what is returned is dropped; `None` where the journal is a
/// file, which this program alone appends to.
pub(crate) fn start(app: &App) -> Option<Follower> {
    let following = app.clone();
    let told = move |heard: Heard| match heard {
        Heard::Position(position) if position <= following.news.position() => {}
        Heard::Position(_) | Heard::Listening => catch_up(&following),
        Heard::Lost(what) => tracing::warn!(trouble = %what, "the line to the database is lost"),
    };
    match app.read().follow(told) {
        Ok(follower) => follower,
        Err(error) => {
            tracing::error!(trouble = %error, "what others record is not followed");
            None
        }
    }
}

fn catch_up(app: &App) {
    let mut laboratory = app.write();
    match laboratory.catch_up() {
        Ok(_) => app.news.tell(laboratory.head().position),
        Err(error) => tracing::error!(trouble = %error, "what others recorded is not read"),
    }
}
