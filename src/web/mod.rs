//! The page in a browser on the same computer: an event file, its plan, other treatments and the notebook.
//!
//! The server listens on the loopback address only, and answers only the browser that was given the key. It reads and
//! writes files only through its [`Folder`]. Pages are made here; a small script fetches parts of them.

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
