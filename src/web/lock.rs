//! Locks that a panic elsewhere does not poison.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// Locks a mutex, poisoned or not. Locks guard whole values, or nothing but whose turn it is, so that a panic leaves nothing
/// half done.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
