//! Lines that cannot be read as they stand, written as they were probably meant.
//!
//! Somebody in a hurry types `heads = about 40`, a comma at the end, the curved quotation marks of a phone, `[[pieces]]`. The
//! file is never changed. The line as it was meant is what a problem says to type, and the rest of the file is read as if
//! it had been typed, so that all that is wrong is told at once.

use super::faults::in_words;
use crate::error::{Place, Problem, nearest};
use std::borrow::Cow;
use std::ops::Range;
use toml::de::DeTable;

/// The headings of event and habits files, and whether they stand in double brackets.
pub const HEADINGS: [(&str, bool); 22] = [
    ("event", false),
    ("target", false),
    ("crew", false),
    ("tubes", true),
    ("vases", false),
    ("venue", false),
    ("chore", true),
    ("marks", false),
    ("access", true),
    ("travel", false),
    ("space", true),
    ("space.hour", true),
    ("space.building", false),
    ("space.guests", true),
    ("piece", true),
    ("piece.flower", true),
    ("piece.move", true),
    ("florist", false),
    ("minutes", false),
    ("vessels", true),
    ("prices", false),
    ("spares", false),
];
/// Other words for headings, of one.
const OTHER_WORDS: [(&str, &str); 8] = [
    ("arch", "piece"),
    ("garland", "piece"),
    ("runner", "piece"),
    ("table", "piece"),
    ("room", "space"),
    ("setup", "access"),
    ("staff", "crew"),
    ("team", "crew"),
];
/// A file that is not TOML at all is wrong everywhere: these many places are enough to see it.
const MOST_FAULTS: usize = 10;
/// After a line is written as meant, others may be seen to be wrong. More rounds than this are not tried.
const MOST_ROUNDS: usize = 4;

/// A text with its unreadable lines as they were meant.
pub struct Meant<'a> {
    /// The text, line by line the same but for those.
    pub text: Cow<'a, str>,
    /// What was wrong with each of those lines, with its number, from 1.
    pub problems: Vec<(usize, Problem)>,
    /// Whether all of the text can be read now.
    pub readable: bool,
}

/// Reads a text as it was meant; `file` is its name, for the problems.
pub fn as_meant<'a>(file: &str, text: &'a str) -> Meant<'a> {
    if DeTable::parse_recoverable(text).1.is_empty() && text.lines().all(|line| heading_meant(line).is_none())
    {
        return Meant { text: text.into(), problems: Vec::new(), readable: true };
    }
    let original: Vec<&str> = text.split('\n').collect();
    let mut lines: Vec<Cow<str>> = original.iter().map(|line| Cow::Borrowed(*line)).collect();
    let mut problems: Vec<(usize, Problem)> = Vec::new();
    for (i, line) in original.iter().enumerate() {
        if let Some((heading, problem)) = heading_meant(line) {
            problems
                .push((i + 1, problem.at(Place::on(file, i + 1, line, whole(line))).help(heading.clone())));
            lines[i] = heading.into();
        }
    }
    for round in 0.. {
        let now = lines.join("\n");
        let faults = DeTable::parse_recoverable(&now).1;
        let (mut changed, mut left) = (false, Vec::new());
        for fault in faults.iter().take(MOST_FAULTS) {
            let span = fault.span().unwrap_or(0..0);
            let at = now[..span.start.min(now.len())].matches('\n').count().min(lines.len() - 1);
            let told = in_words(fault.message(), now.get(span.clone()).unwrap_or_default());
            let meant = meant(&lines, at, fault.message()).filter(|_| round < MOST_ROUNDS);
            // The places of a line that was changed already are no longer those of the file.
            let is_known = |i: usize| problems.iter().any(|(line, _)| *line == i + 1);
            match meant {
                Some((i, meant)) if !is_known(i) => {
                    let told = if heading_of(&lines[i]).is_some() && fault.message().contains("duplicate") {
                        let place = Place::on(file, i + 1, original[i], whole(original[i]));
                        Problem::new("single brackets stand for one, and there are more of these")
                            .expected("double brackets around the name, above each of them")
                            .at(place)
                    } else {
                        told.at(Place::of(file, &now, span))
                    };
                    problems.push((i + 1, told.help(meant.trim())));
                    lines[i] = meant.into();
                    changed = true;
                }
                _ if is_known(at) => {}
                _ => left.push((at + 1, told.at(Place::of(file, &now, span)))),
            }
        }
        if !changed {
            problems.extend(left);
            return Meant { readable: faults.is_empty(), text: now.into(), problems };
        }
    }
    unreachable!("a round that changes nothing is the last")
}

/// What is said of the lines as they were meant takes the place of what was wrong with them as they stand: who is told to
/// write `heads = "about 40"` would be told next that it is no number.
pub fn told_once(mut unreadable: Vec<(usize, Problem)>, file: &str, read: Vec<Problem>) -> Vec<Problem> {
    let mut others = Vec::new();
    for problem in read {
        let line =
            problem.place.as_ref().filter(|p| p.file == file && problem.lacks.is_none()).map(|p| p.line);
        let same = line.and_then(|line| unreadable.iter_mut().find(|(of, _)| *of == line));
        let Some((_, told)) = same else {
            others.push(problem);
            continue;
        };
        let key = told.help.as_deref().and_then(|h| h.split_once(" = ")).map(|(key, _)| key.to_string());
        let help = match (problem.help, key) {
            (Some(help), Some(key)) if help.starts_with('"') => Some(format!("{key} = {help}")),
            (help, _) => help,
        };
        *told = Problem { help, place: told.place.take(), ..problem };
    }
    others.extend(unreadable.into_iter().map(|(_, problem)| problem));
    others
}

/// The range of a line without the blanks at its ends.
fn whole(line: &str) -> Range<usize> {
    let start = line.len() - line.trim_start().len();
    start..line.trim_end().len().max(start)
}

/// A heading as it was meant, and what is wrong with it; `None` where it is one, or none is meant.
fn heading_meant(line: &str) -> Option<(String, Problem)> {
    let (written, rest) = heading_of(line)?;
    let known = |name: &str| HEADINGS.iter().find(|(known, _)| *known == name);
    let after = rest.trim_start_matches(']').trim_start();
    if known(written).is_some() || !(after.is_empty() || after.starts_with('#')) {
        return None;
    }
    let name = written.to_lowercase().replace(' ', "");
    let singular = name.strip_suffix('s').unwrap_or(&name);
    let below = |(heading, _): &&(&str, bool)| {
        heading.split_once('.').is_some_and(|(_, last)| last == singular || last == name)
    };
    let (heading, many) = known(&name)
        .or_else(|| known(singular))
        .or_else(|| HEADINGS.iter().find(below))
        .or_else(|| known(OTHER_WORDS.iter().find(|(other, _)| *other == singular)?.1))
        .or_else(|| known(nearest(&name, HEADINGS.iter().map(|(heading, _)| *heading))?))?;
    let problem = Problem::new(format!("there is no section `{}`", crate::error::printable(written)))
        .expected(
            "a section of an event, such as [event], [[access]], [[space]], [[piece]] or [[piece.flower]]",
        );
    Some((in_brackets(heading, *many), problem))
}

fn in_brackets(heading: &str, many: bool) -> String {
    if many { format!("[[{heading}]]") } else { format!("[{heading}]") }
}

/// The name in a heading, and what stands after it.
fn heading_of(line: &str) -> Option<(&str, &str)> {
    let inside = line.trim().strip_prefix('[')?.trim_start_matches('[');
    let end = inside.find([']', '#', ',', ':']).unwrap_or(inside.len());
    let name = inside[..end].trim();
    let is_name = |c: char| c.is_alphanumeric() || ". _-".contains(c);
    (!name.is_empty() && name.chars().all(is_name)).then_some((name, &inside[end..]))
}

/// The line to change for a fault of line `at`, and what it was meant to be; `None` where nobody can say.
fn meant(lines: &[Cow<str>], at: usize, fault: &str) -> Option<(usize, String)> {
    let line = lines[at].as_ref();
    let Some((name, _)) = heading_of(line) else {
        let meant = setting_meant(line).filter(|meant| meant != line.trim())?;
        return Some((at, meant));
    };
    let (heading, many) = HEADINGS.iter().find(|(heading, _)| *heading == name)?;
    // Single brackets stand for one: where there are more, the first may be the wrong one.
    let single = |line: &Cow<str>| line.trim_start().starts_with(&format!("[{heading}]"));
    let at = if fault.contains("duplicate") { lines.iter().position(single).filter(|_| *many)? } else { at };
    let comment = lines[at].find('#').map_or("", |from| &lines[at][from..]);
    let right = in_brackets(heading, *many);
    Some((at, if comment.is_empty() { right } else { format!("{right} {comment}") }))
        .filter(|(i, l)| *l != lines[*i])
}

/// A line `key = value` as it was meant.
fn setting_meant(line: &str) -> Option<String> {
    let line = line
        .replace(['\u{a0}', '\u{202f}', '\u{2009}', '\t'], " ")
        .replace(['\u{201c}', '\u{201d}', '\u{201e}', '\u{ab}', '\u{bb}'], "\"")
        .replace(['\u{2018}', '\u{2019}'], "'");
    let trimmed = line.trim();
    let key_ends = trimmed.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))?;
    let (key, rest) = trimmed.split_at(key_ends);
    let rest = rest.trim_start();
    let value = match rest.strip_prefix(['=', ':']) {
        Some(value) => value.trim_start_matches(['=', ' ']),
        // Prose is not a setting.
        None if rest.starts_with(|c: char| c == '"' || c.is_ascii_digit()) => rest,
        None => return None,
    };
    let (value, note) = note_apart(value);
    let value = value.trim().trim_end_matches([',', ';']).trim();
    if key.is_empty() || value.is_empty() || has_another_setting(value) {
        return None;
    }
    let note = if note.is_empty() { String::new() } else { format!("  # {note}") };
    let lower = value.to_lowercase();
    let as_text = || {
        let inside = value.trim_matches('"').trim_matches('\'').trim();
        match (inside.contains('"'), inside.contains('\'')) {
            (false, _) => format!("\"{inside}\""),
            (true, false) => format!("'{inside}'"),
            (true, true) => format!("\"{}\"", inside.replace('"', "")),
        }
    };
    let mut forms = vec![value.to_string()];
    if let "true" | "false" | "yes" | "no" = lower.as_str() {
        forms.push(if matches!(lower.as_str(), "true" | "yes") { "true" } else { "false" }.to_string());
    } else if let Some(items) = value.strip_prefix('[') {
        let items = items
            .trim_end_matches(']')
            .split(',')
            .map(|i| i.trim().trim_matches('"'))
            .filter(|i| !i.is_empty());
        forms.push(format!("[{}]", items.map(|item| format!("\"{item}\"")).collect::<Vec<_>>().join(", ")));
    } else {
        forms.push(as_text());
    }
    let lines = forms.into_iter().map(|value| format!("{key} = {value}{note}"));
    lines.into_iter().find(|line| DeTable::parse(line).is_ok())
}

/// A value apart from what is noted beside it, after `#` or `//`.
fn note_apart(value: &str) -> (&str, &str) {
    let mut quoted = None;
    for (i, c) in value.char_indices() {
        match (quoted, c) {
            (None, '"' | '\'') if value[..i].trim().is_empty() => quoted = Some(c),
            (Some(q), c) if q == c => quoted = None,
            (None, '#') => return (&value[..i], value[i + 1..].trim()),
            (None, '/') if value[i + 1..].starts_with('/') => return (&value[..i], value[i + 2..].trim()),
            _ => {}
        }
    }
    (value, "")
}

/// Whether a second setting stands on the line: `"barn", room = "warm barn"`.
fn has_another_setting(value: &str) -> bool {
    value.split([',', ';']).skip(1).any(|part| {
        let key = part.split('=').next().unwrap_or_default().trim();
        part.contains('=') && !key.is_empty() && key.chars().all(|c| c.is_ascii_lowercase() || c == '_')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_can_be_read_is_not_changed() {
        let text = "[event]\nname = 'a // b'\n[[piece]] # tables\nnear = [\n  \"food\", # and drink\n]\n";
        let meant = as_meant("x.toml", text);
        assert!(meant.readable && meant.problems.is_empty());
        assert_eq!(meant.text, text);
    }

    #[test]
    fn settings_are_written_as_they_were_meant() {
        for (typed, meant) in [
            ("name = \u{201c}Supper\u{201d}", "name = \"Supper\""),
            ("name = 'Anna's supper'", "name = \"Anna's supper\""),
            ("name: Supper;", "name = \"Supper\""),
            ("look = 12\" wide", "look = '12\" wide'"),
            ("heads = 40 // white", "heads = 40  # white"),
            ("heads\u{a0}= 40,", "heads = 40"),
            ("outdoors = Yes", "outdoors = true"),
            ("near = [food, cake", "near = [\"food\", \"cake\"]"),
        ] {
            assert_eq!(setting_meant(typed).as_deref(), Some(meant), "{typed}");
        }
        for nobody_knows in ["dear diary", "heads =", "name = \"barn\", room = \"barn\"", ""] {
            assert_eq!(setting_meant(nobody_knows), None, "{nobody_knows}");
        }
    }

    #[test]
    fn headings_are_written_as_they_were_meant() {
        for (typed, meant) in [
            ("[[Pieces]]", "[[piece]]"),
            ("[Piece . Flower]", "[[piece.flower]]"),
            ("[[flowers]]", "[[piece.flower]]"),
            ("[[acces]]  # from nine", "[[access]]"),
            ("[building]", "[space.building]"),
        ] {
            assert_eq!(heading_meant(typed).map(|h| h.0).as_deref(), Some(meant), "{typed}");
        }
        assert!(heading_meant("[[piece]]").is_none() && heading_meant("[somewhere else]").is_none());
    }
}
