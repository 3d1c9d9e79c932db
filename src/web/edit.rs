//! Edits of an event, as the page sends them: what to do, at which path, and what was typed.

use super::draft::Draft;
use crate::error::{Problem, Result};

/// Makes edits one after the other. Each is `set:PATH` with a value, `add:PATH` for a section, `copy:PATH` or `out:PATH`
/// for what is there, or `as:PATH` with a new name for the value. A `+` in a path is the last section there.
///
/// # Errors
/// If an edit is none of these; the draft may then be half changed.
pub fn apply(draft: &mut Draft, edits: &[(String, String)]) -> Result<()> {
    for (what, typed) in edits {
        let unknown = || Problem::new("the page asked for a change that is not known here");
        let (verb, path) = what.split_once(':').ok_or_else(unknown)?;
        let path = found(draft, path).ok_or_else(unknown)?;
        match verb {
            "set" => draft.set(&path, typed),
            "add" => drop(draft.add(&path, &[])),
            "copy" => drop(draft.copy(&path)),
            "out" => draft.take_out(&path),
            "as" if plain(typed) => {
                let value = draft.get(&path);
                draft.take_out(&path);
                let parent = path.rsplit_once('.').map_or("", |p| p.0);
                draft.set(&format!("{parent}.{typed}"), &value);
            }
            _ => return Err(unknown().into()),
        }
    }
    Ok(())
}

/// A path with every `+` replaced by the number of the last section there; `None` if it is no path.
fn found(draft: &Draft, path: &str) -> Option<String> {
    let mut found = String::new();
    for step in path.split('.') {
        let step = match step {
            "+" => draft.count(&found).checked_sub(1)?.to_string(),
            step if plain(step) => step.to_string(),
            _ => return None,
        };
        found = if found.is_empty() { step } else { format!("{found}.{step}") };
    }
    Some(found)
}

/// Whether a step of a path is a key or a number.
fn plain(step: &str) -> bool {
    (1..40).contains(&step.len()) && step.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-')
}
