//! An event in a browser on the same computer: its file, its plan, and what would come of other ways.
//!
//! The server listens on the loopback address alone and answers one browser: the one that was handed the key. It touches
//! no files but through the [`Folder`] it is given. Pages are written here, whole; one small script fetches parts of them.

mod drawn;
mod file;
mod folder;
mod forms;
mod guard;
mod keys;
mod lock;
mod notes;
mod page;
mod papers;
mod server;
mod shown;
mod slide;
mod state;
mod trials;

pub use folder::{Folder, plain_name};
pub use guard::LONGEST;
pub use keys::Keys;
pub use server::{HEAD_WITHIN, MOST_CONNECTIONS, pages, serve};
