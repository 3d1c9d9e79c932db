//! Locks that a panic elsewhere does not poison.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// A lock is held for a look or a change in one go, so that a panic elsewhere leaves nothing half done.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
