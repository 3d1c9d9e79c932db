//! The keys of the page: it belongs to the one browser that was handed the first.

use super::lock::lock;
use std::sync::Mutex;

/// The key in the address that the program opens, good once, and the one the browser keeps in exchange.
pub struct Keys {
    first: Mutex<Option<String>>,
    kept: String,
}

impl Keys {
    /// Two keys out of unguessable bytes.
    pub fn new(bytes: [u8; 32]) -> Keys {
        let word = |bytes: &[u8]| bytes.iter().map(|b| format!("{b:02x}")).collect::<String>();
        Keys { first: Mutex::new(Some(word(&bytes[..16]))), kept: word(&bytes[16..]) }
    }

    /// The address to open on this port.
    pub fn address(&self, port: u16) -> String {
        let key = lock(&self.first).clone().unwrap_or_default();
        format!("http://127.0.0.1:{port}/?key={key}")
    }

    /// The key that the browser keeps.
    pub(super) fn kept(&self) -> &str {
        &self.kept
    }

    /// Whether a word is the key that the browser keeps.
    pub(super) fn is_kept(&self, word: &str) -> bool {
        same(&self.kept, word)
    }

    /// Whether a word is the first key, which is then spent.
    pub(super) fn spend(&self, word: &str) -> bool {
        let mut first = lock(&self.first);
        let right = first.as_deref().is_some_and(|key| same(key, word));
        if right {
            *first = None;
        }
        right
    }
}

/// Compared in a time that does not tell how much was right.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |wrong, (a, b)| wrong | (a ^ b)) == 0
}
