//! The signs of cards, events and answers: each has a shape of its own, and a word for those who cannot see it.

use maud::{Markup, html};

/// The signs of cards, events and answers.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// All is well.
    Good,
    /// Something is not.
    Bad,
    /// Something is not said yet.
    Empty,
    /// It is older than the event.
    Stale,
}

/// A sign as a small picture.
pub fn sign(sign: Sign) -> Markup {
    let (class, label) = match sign {
        Sign::Good => ("sign good", "complete"),
        Sign::Bad => ("sign bad", "needs a look"),
        Sign::Empty => ("sign empty", "not complete yet"),
        Sign::Stale => ("sign stale", "working"),
    };
    html! {
        svg class=(class) viewBox="0 0 26 26" role="img" aria-label=(label) {
            @match sign {
                Sign::Good => { circle cx="13" cy="13" r="11.5" {} path d="M7.5 13.5l4 4l7.5-9" {} }
                Sign::Bad => { path d="M13 2L25 24H1z" {} path.mark d="M13 9v8M13 19.5v2" {} }
                Sign::Empty => { circle cx="13" cy="13" r="11.5" stroke-dasharray="4 3.2" {} }
                Sign::Stale => { circle cx="13" cy="13" r="11.5" {} path d="M13 6v7.5l5 3" {} }
            }
        }
    }
}
