//! The text of an event file, edited in place: comments, order and keys that the page does not know stay as they are.
//!
//! A value is named by its path, the names and numbers that lead to it: `piece.0.flower.2.heads`.

use crate::error::Place;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, TableLike, Value, value};

/// Keys whose values are numbers.
const NUMBERS: [&str; 11] = [
    "heads",
    "stems",
    "people",
    "skilled",
    "most",
    "count",
    "split",
    "vessels",
    "candles",
    "latitude",
    "longitude",
];
/// Keys whose values are lists of texts.
const LISTS: [&str; 2] = ["near", "treatments"];

/// The text of an event file, taken apart.
pub struct Draft {
    document: DocumentMut,
    /// The bytes of every part of the text, with its path.
    spans: Vec<(std::ops::Range<usize>, String)>,
    text: String,
}

impl Draft {
    /// The draft in a text; `None` if it is not TOML.
    pub fn read(text: &str) -> Option<Draft> {
        let parsed = toml_edit::Document::parse(text.to_string()).ok()?;
        let mut spans = Vec::new();
        note(parsed.as_table(), "", &mut spans);
        Some(Draft { spans, text: text.to_string(), document: parsed.into_mut() })
    }

    /// The text as it stands now.
    pub fn text(&self) -> String {
        self.document.to_string()
    }

    /// The value at a path as a person would type it; empty if there is none.
    pub fn get(&self, path: &str) -> String {
        let Some((parent, key)) = split(path) else { return String::new() };
        self.table(parent).and_then(|table| table.get(key)).map_or(String::new(), plain)
    }

    /// Whether there is anything at a path.
    pub fn has(&self, path: &str) -> bool {
        split(path).and_then(|(parent, key)| self.table(parent)?.get(key)).is_some()
    }

    /// How many sections there are at a path.
    pub fn count(&self, path: &str) -> usize {
        let item = split(path).and_then(|(parent, key)| self.table(parent)?.get(key));
        match item {
            Some(Item::ArrayOfTables(sections)) => sections.len(),
            Some(Item::Value(Value::Array(list))) => list.len(),
            _ => 0,
        }
    }

    /// The paths of the sections at a path.
    pub fn each(&self, path: &str) -> Vec<String> {
        (0..self.count(path)).map(|i| format!("{path}.{i}")).collect()
    }

    /// The keys of the section at a path.
    pub fn keys(&self, path: &str) -> Vec<String> {
        self.table(path).map_or(Vec::new(), |table| table.iter().map(|(key, _)| key.to_string()).collect())
    }

    /// The path of what stands at a place of the text: the innermost part that the place lies in.
    pub fn path_at(&self, place: &Place) -> String {
        let line: usize = self.text.split_inclusive('\n').take(place.line - 1).map(str::len).sum();
        let rest = &self.text[line.min(self.text.len())..];
        let at = line + rest.char_indices().nth(place.column - 1).map_or(rest.len(), |(i, _)| i);
        let inside = self.spans.iter().filter(|(span, _)| span.contains(&at));
        inside.min_by_key(|(span, _)| span.len()).map_or(String::new(), |(_, path)| path.clone())
    }

    fn table(&self, path: &str) -> Option<&dyn TableLike> {
        let mut table: &dyn TableLike = self.document.as_table();
        let mut steps = path.split('.').filter(|step| !step.is_empty()).peekable();
        while let Some(key) = steps.next() {
            table = match (table.get(key)?, steps.peek().and_then(|s| s.parse::<usize>().ok())) {
                (Item::ArrayOfTables(all), Some(i)) => {
                    steps.next();
                    all.get(i)?
                }
                (Item::Value(Value::Array(all)), Some(i)) => {
                    steps.next();
                    all.get(i)?.as_inline_table()?
                }
                (item, _) => item.as_table_like()?,
            };
        }
        Some(table)
    }

    /// The table at a path, made if it is not there; `None` if something else stands there.
    fn table_mut(&mut self, path: &str) -> Option<&mut dyn TableLike> {
        let mut table: &mut dyn TableLike = self.document.as_table_mut();
        let mut steps = path.split('.').filter(|step| !step.is_empty()).peekable();
        while let Some(key) = steps.next() {
            let number = steps.peek().and_then(|s| s.parse::<usize>().ok());
            if number.is_some() && !table.contains_key(key) {
                return None;
            }
            let item = table.entry(key).or_insert_with(|| Item::Table(Table::new()));
            table = match (item, number) {
                (Item::ArrayOfTables(all), Some(i)) => {
                    steps.next();
                    all.get_mut(i)?
                }
                (Item::Value(Value::Array(all)), Some(i)) => {
                    steps.next();
                    all.get_mut(i)?.as_inline_table_mut()?
                }
                (item, _) => item.as_table_like_mut()?,
            };
        }
        Some(table)
    }

    /// Sets a value as a person typed it; an empty one takes the key out. It does nothing where the path leads nowhere.
    pub fn set(&mut self, path: &str, typed: &str) {
        let Some((parent, key)) = split(path) else { return };
        let typed = typed.trim();
        if typed.is_empty() {
            self.take_out(path);
            return;
        }
        let Some(table) = self.table_mut(parent) else { return };
        let mut new = written(key, typed);
        match table.get_mut(key) {
            Some(Item::Value(old)) => {
                // Blanks and a comment beside the old value stay beside the new one.
                *new.decor_mut() = old.decor().clone();
                *old = new;
            }
            _ => drop(table.insert(key, value(new))),
        }
    }

    /// Adds a section with some values at the end of those at a path, and returns its path.
    pub fn add(&mut self, path: &str, values: &[(&str, &str)]) -> Option<String> {
        let sections = self.sections_mut(path)?;
        let mut table = Table::new();
        table.decor_mut().set_prefix("\n");
        for (key, typed) in values {
            table.insert(key, value(written(key, typed)));
        }
        sections.push(table);
        Some(format!("{path}.{}", sections.len() - 1))
    }

    /// Copies a section to the end of those like it, under a name of its own, and returns the path of the copy.
    pub fn copy(&mut self, path: &str) -> Option<String> {
        let (all, number) = path.rsplit_once('.')?;
        let taken: Vec<String> = self.each(all).iter().map(|p| self.get(&format!("{p}.name"))).collect();
        let sections = self.sections_mut(all)?;
        let mut copy = sections.get(number.parse().ok()?)?.clone();
        forget_places(&mut copy);
        if let Some(name) = copy.get("name").map(plain) {
            let bare = name.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end().to_string();
            let free = (2..).map(|n| format!("{bare} {n}")).find(|new| !taken.contains(new));
            copy.insert("name", value(free.unwrap_or(name)));
        }
        sections.push(copy);
        Some(format!("{all}.{}", sections.len() - 1))
    }

    /// Takes out a value, or a section.
    pub fn take_out(&mut self, path: &str) {
        let Some((parent, last)) = split(path) else { return };
        if let Ok(number) = last.parse::<usize>() {
            let Some((parent, key)) = split(parent) else { return };
            let Some(table) = self.table_mut(parent) else { return };
            let left = match table.get_mut(key) {
                Some(Item::ArrayOfTables(all)) if number < all.len() => {
                    all.remove(number);
                    all.len()
                }
                Some(Item::Value(Value::Array(all))) if number < all.len() => {
                    all.remove(number);
                    all.len()
                }
                _ => return,
            };
            if left == 0 {
                table.remove(key);
            }
        } else if self.has(path)
            && let Some(table) = self.table_mut(parent)
        {
            table.remove(last);
        }
    }

    fn sections_mut(&mut self, path: &str) -> Option<&mut ArrayOfTables> {
        let (parent, key) = split(path)?;
        let table = self.table_mut(parent)?;
        let item = table.entry(key).or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
        if let Item::Value(Value::Array(_)) = item {
            // Tables in braces become sections, so that one can be added with lines of its own.
            *item = std::mem::take(item).into_array_of_tables().map_or_else(|item| item, Item::ArrayOfTables);
        }
        item.as_array_of_tables_mut()
    }
}

/// The path of what holds a value, and the value's own name.
fn split(path: &str) -> Option<(&str, &str)> {
    if path.is_empty() { None } else { Some(path.rsplit_once('.').unwrap_or(("", path))) }
}

/// Notes the bytes of every part of a table.
fn note(table: &dyn TableLike, path: &str, spans: &mut Vec<(std::ops::Range<usize>, String)>) {
    for (key, item) in table.iter() {
        let path = if path.is_empty() { key.to_string() } else { format!("{path}.{key}") };
        let named = table.get_key_value(key).and_then(|(key, _)| key.span());
        spans.extend(named.map(|span| (span, path.clone())));
        spans.extend(item.span().map(|span| (span, path.clone())));
        match item {
            Item::ArrayOfTables(all) => {
                for (i, table) in all.iter().enumerate() {
                    let path = format!("{path}.{i}");
                    spans.extend(table.span().map(|span| (span, path.clone())));
                    note(table, &path, spans);
                }
            }
            Item::Value(Value::Array(all)) => {
                for (i, table) in all.iter().enumerate().filter_map(|(i, v)| Some((i, v.as_inline_table()?)))
                {
                    note(table, &format!("{path}.{i}"), spans);
                }
            }
            item => {
                if let Some(table) = item.as_table_like() {
                    note(table, &path, spans);
                }
            }
        }
    }
}

/// Lets a copied table and those in it stand where they are put, and not where the original stood.
fn forget_places(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(table) => forget_places(table),
            Item::ArrayOfTables(all) => all.iter_mut().for_each(forget_places),
            _ => {}
        }
    }
}

/// A value as a person would type it.
fn plain(item: &Item) -> String {
    match item {
        Item::Value(Value::String(text)) => text.value().clone(),
        Item::Value(Value::Array(all)) => {
            let texts = all.iter().map(|v| v.as_str().map_or_else(|| v.to_string(), str::to_string));
            texts.map(|t| t.trim().to_string()).collect::<Vec<_>>().join(", ")
        }
        Item::Value(other) => other.clone().decorated("", "").to_string(),
        _ => String::new(),
    }
}

/// What a person typed for a key, as a value of the file.
fn written(key: &str, typed: &str) -> Value {
    if LISTS.contains(&key) {
        return typed
            .split(',')
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .collect::<toml_edit::Array>()
            .into();
    }
    let bare = NUMBERS.contains(&key) && typed.parse::<i64>().is_ok_and(|n| n.to_string() == typed)
        || ["latitude", "longitude"].contains(&key)
            && typed.contains('.')
            && typed.parse::<f64>().is_ok_and(f64::is_finite)
        || ["date", "log_day"].contains(&key)
        || ["true", "false"].contains(&typed);
    let read = bare.then(|| typed.parse::<Value>().ok()).flatten();
    read.filter(|v| !v.is_inline_table() && !v.is_array()).unwrap_or_else(|| typed.into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::TEMPLATE;

    #[test]
    fn an_edit_changes_its_own_line_alone() {
        let mut draft = Draft::read(TEMPLATE).unwrap();
        assert_eq!(draft.text(), TEMPLATE);
        draft.set("event.doors", "16:30");
        let changed = draft.text();
        let other: Vec<_> = TEMPLATE.lines().zip(changed.lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(other.len(), 1);
        assert_eq!(other[0].1, other[0].0.replace("17:00", "16:30"), "the comment beside the value stays");
        draft.set("event.doors", "17:00");
        assert_eq!(draft.text(), TEMPLATE);
    }

    #[test]
    fn keys_and_sections_that_the_page_does_not_know_stay() {
        let text = "# mine\n[event]\nname = 'x' # so called\nodd = { a = 1 }\n\n[[piece]]\nname = \"t\"\n  [[piece.flower]]\n  heads = 3\n\n[strange]\nb = 2\n";
        let mut draft = Draft::read(text).unwrap();
        draft.set("piece.0.flower.0.heads", "4");
        draft.set("piece.0.flower.0.flower", "rose");
        let expected = text.replace("heads = 3\n", "heads = 4\nflower = \"rose\"\n");
        assert_eq!(draft.text().replace("  flower", "flower"), expected);
        draft.set("piece.0.flower.0.flower", "");
        draft.set("piece.0.flower.0.heads", "3");
        assert_eq!(draft.text(), text);
    }

    #[test]
    fn sections_are_added_copied_and_taken_out() {
        let mut draft = Draft::read("[event]\nname = \"x\"\n").unwrap();
        let piece = draft.add("piece", &[("name", "runner"), ("until", "22:00")]).unwrap();
        let flower = draft.add(&format!("{piece}.flower"), &[("flower", "rose"), ("heads", "12")]).unwrap();
        assert_eq!((piece.as_str(), flower.as_str()), ("piece.0", "piece.0.flower.0"));
        assert_eq!(draft.copy("piece.0").as_deref(), Some("piece.1"));
        assert_eq!(draft.copy("piece.1").as_deref(), Some("piece.2"));
        let names = draft.each("piece").iter().map(|p| draft.get(&format!("{p}.name"))).collect::<Vec<_>>();
        assert_eq!(names, ["runner", "runner 2", "runner 3"]);
        // What is written is read back the same, each flower with its own piece.
        let read = Draft::read(&draft.text()).unwrap();
        assert_eq!((read.count("piece.0.flower"), read.count("piece.2.flower")), (1, 1));
        assert_eq!(read.get("piece.2.flower.0.heads"), "12");
        for path in ["piece.1", "piece.0", "piece.0"] {
            draft.take_out(path);
        }
        assert_eq!(draft.text(), "[event]\nname = \"x\"\n");
    }

    #[test]
    fn a_place_in_the_text_is_found_by_its_path() {
        let text = "[event]\nname = \"x\"\n[[piece]]\nname = \"a\"\n[[piece]]\nname = \"é\"\nuntil = 5\n";
        let draft = Draft::read(text).unwrap();
        let path = |what: &str, nth: usize| {
            let at = text.match_indices(what).nth(nth).unwrap().0;
            draft.path_at(&Place::of("x", text, at..at + what.len()))
        };
        assert_eq!(path("\"x\"", 0), "event.name");
        assert_eq!(path("\"é\"", 0), "piece.1.name");
        assert_eq!(path("5", 0), "piece.1.until");
        assert_eq!(path("until", 0), "piece.1.until");
        assert_eq!(path("[[piece]]", 1), "piece.1");
        assert_eq!(path("[event]", 0), "event");
    }

    #[test]
    fn nothing_that_is_typed_becomes_more_than_one_value() {
        let mut draft = Draft::read("").unwrap();
        for typed in ["\"", "a\nb = 1", "[x]", "2027-13-45", "{ a = 1 }", "'''", "\u{0}", "1 # c"] {
            for path in ["event.name", "event.date", "crew.people"] {
                draft.set(path, typed);
            }
            let read = Draft::read(&draft.text()).unwrap();
            assert_eq!((read.get("event.name"), read.get("event.date")), (typed.into(), typed.into()));
        }
    }
}
