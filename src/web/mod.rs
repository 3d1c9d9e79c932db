//! The page in a browser on the same computer: events edited in place, their plans, one flower at a time, the notebook.
//!
//! The server listens on the loopback address only, and answers only the browser that was given the key; a phone has a
//! link of its own, if it is asked for. Files are read and written only through its [`Folder`]. Pages are made here; a
//! small script fetches parts of them.

mod ask;
mod cards;
mod connections;
mod draft;
mod drawn;
mod edit;
mod file;
mod folder;
mod forms;
mod glyphs;
mod guard;
mod habits;
mod helps;
mod home;
mod keys;
mod layout;
mod lock;
mod notes;
mod page;
mod papers;
mod past;
mod phone;
mod pieces;
mod plain;
mod readings;
mod ribbon;
mod rooms;
mod server;
mod sheet;
mod shown;
mod signs;
mod slide;
mod state;
mod strip;
mod told;
mod trials;
mod why;

pub use connections::{HEAD_WITHIN, MOST_CONNECTIONS};
pub use folder::{Folder, plain_name};
pub use guard::LONGEST;
pub use keys::Keys;
pub use server::{pages, serve};
