//! The keys of the page, which belongs to the one browser that was given the first key.

use super::lock::lock;
use std::sync::Mutex;

/// The first key, which is in the address and is valid once, and the one that addresses carry from then on.
pub struct Keys {
    first: Mutex<Option<String>>,
    kept: String,
}

impl Keys {
    /// Two keys made of random bytes, 16 each.
    pub fn new(bytes: [u8; 32]) -> Keys {
        Keys { first: Mutex::new(Some(word(&bytes[..16]))), kept: word(&bytes[16..]) }
    }

    /// The address to open in the browser, with the first key.
    pub fn address(&self, port: u16) -> String {
        let key = lock(&self.first).clone().unwrap_or_default();
        format!("http://127.0.0.1:{port}/?key={key}")
    }

    /// The key that the addresses of all pages begin with.
    pub(super) fn kept(&self) -> &str {
        &self.kept
    }

    /// Whether a word is the key that addresses begin with.
    pub(super) fn is_kept(&self, word: &str) -> bool {
        same(&self.kept, word)
    }

    /// Whether a word is the first key, which is no longer valid afterwards.
    pub(super) fn spend(&self, word: &str) -> bool {
        let mut first = lock(&self.first);
        let right = first.as_deref().is_some_and(|key| same(key, word));
        if right {
            *first = None;
        }
        right
    }
}

/// Bytes as a word.
pub(super) fn word(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Whether two words are equal, compared in constant time.
pub(super) fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |wrong, (a, b)| wrong | (a ^ b)) == 0
}
