//! Adds entries to the text of a notebook and takes them out again; whoever holds the file writes it.

use super::book::{COLUMNS, Load, Notebook};
use super::sheet::Sheet;
use crate::calibrate::trial::Trial;
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::Flower;
use crate::units::Moment;

/// When a look was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// On the clock of the trial's day, h from the midnight that begins it.
    At(f64),
    /// So many hours after the start.
    After(f64),
}

/// Pairs of a column and what to write in it.
pub type Cells<'a> = &'a [(&'a str, &'a str)];

/// A notebook's text with a trial begun, and the trial's number.
///
/// # Errors
/// If the notebook or one of the cells cannot be read.
///
/// # Examples
/// ```
/// use headwater::calibrate::notebook::begun;
/// use headwater::flower::catalogue::Catalogue;
/// let dahlia = Catalogue::shipped().find("dahlia").unwrap();
/// let said = [("date", "2027-06-13"), ("heads", "10"), ("air", "22C 48%")];
/// let no_log = |name: &str| Err(std::io::Error::other(format!("no log {name}")));
/// let (text, number) = begun("trials.csv", None, (dahlia, 9.0), &said, &no_log).unwrap();
/// assert!(number == 1 && text.ends_with("22C 48%,,,,,,,,,,,\n"));
/// ```
pub fn begun(
    file: &str,
    text: Option<&str>,
    (flower, at): (&Flower, f64),
    cells: Cells,
    load: Load,
) -> Result<(String, u32)> {
    let before = text.map_or(Ok(Notebook::default()), |t| Notebook::read(file, t, load))?;
    let number = before.next_number();
    let mut entry = vec![
        ("entry", "start".to_string()),
        ("trial", number.to_string()),
        ("at", Moment::at(at).to_string()),
        ("flower", flower.id().to_string()),
    ];
    entry.extend(cells.iter().map(|(column, value)| (*column, value.trim().to_string())));
    let new = with_entry(file, text, &entry)?;
    Notebook::read(file, &new, load).map_err(unwritten)?;
    Ok((new, number))
}

/// A notebook's text with a look added to a trial, and that trial; where no number is given it is the last trial begun.
///
/// # Errors
/// If the notebook or one of the cells cannot be read, if there is no such trial, or if the look contradicts what was
/// noted before.
pub fn looked(
    file: &str,
    text: Option<&str>,
    (number, when): (Option<u32>, When),
    cells: Cells,
    load: Load,
) -> Result<(String, Trial)> {
    let nothing = || {
        Problem::new("no trial is begun in this notebook")
            .help("headwater trial start FLOWER --on DAY --at TIME --air AIR")
    };
    let text = text.ok_or_else(nothing)?;
    let before = Notebook::read(file, text, load)?;
    let trial = match number {
        Some(number) => before.trials.iter().find(|t| t.number == number).ok_or_else(|| {
            let known: Vec<String> = before.trials.iter().map(|t| t.number.to_string()).collect();
            Problem::new(format!("there is no trial {number} in this notebook"))
                .expected(format!("one of: {}", known.join(", ")))
                .help("headwater trial show lists them")
        })?,
        None => before.trials.last().ok_or_else(nothing)?,
    };
    let at = match when {
        When::At(at) => at,
        When::After(hours) => trial.start + hours,
    };
    let mut entry = vec![
        ("entry", "look".to_string()),
        ("trial", trial.number.to_string()),
        ("at", Moment::at(at).to_string()),
    ];
    entry.extend(cells.iter().map(|(column, value)| (*column, value.trim().to_string())));
    let new = with_entry(file, Some(text), &entry)?;
    let mut trials = Notebook::read(file, &new, load).map_err(unwritten)?.trials;
    let of = trials.iter().position(|t| t.number == trial.number).expect("it was there before");
    Ok((new, trials.swap_remove(of)))
}

/// Problems without their places: an entry that is not in the file yet has no line that anybody could see.
fn unwritten(error: Error) -> Error {
    let problems = error.problems.into_iter().map(|p| Problem { place: None, ..p }).collect();
    Error { problems }
}

/// A notebook's text with one more entry; a new notebook where there is none. A column that it was begun without is added to its
/// first line.
///
/// # Errors
/// If the notebook cannot be read, or has no such column.
pub fn with_entry(file: &str, text: Option<&str>, entry: &[(&str, String)]) -> Result<String> {
    let mut text = match text {
        Some(text) if !text.trim().is_empty() => text.to_string(),
        _ => format!("{}\n", COLUMNS.join(",")),
    };
    let known = Sheet::of(file, &text)?;
    let (columns, delimiter) = (known.columns, char::from(known.delimiter));
    for (column, value) in entry {
        if !value.is_empty() && COLUMNS.contains(column) && !columns.iter().any(|c| c == column) {
            let first = text.find(|c: char| !c.is_whitespace() && c != '\u{feff}').unwrap_or(0);
            let end = text[first..].find(['\r', '\n']).map_or(text.len(), |end| first + end);
            text.insert_str(end, &format!("{delimiter}{column}"));
        }
    }
    let sheet = Sheet::of(file, &text)?;
    let lacking =
        entry.iter().find(|(column, value)| !value.is_empty() && !sheet.columns.iter().any(|c| c == column));
    if let Some((column, _)) = lacking {
        let problem = Problem::new(format!("the notebook has no column \"{column}\""))
            .at(sheet.place(1, ""))
            .expected("the columns of a fresh notebook, in any order")
            .help(format!("add a column called {column} to its first line"));
        return Err(problem.into());
    }
    let cells = sheet
        .columns
        .iter()
        .map(|c| entry.iter().find(|(column, _)| column == c).map_or("", |(_, v)| v.as_str()));
    let mut writer =
        csv::WriterBuilder::new().delimiter(sheet.delimiter).flexible(true).from_writer(Vec::new());
    writer.write_record(cells).expect("a record in memory is written");
    let line =
        String::from_utf8(writer.into_inner().expect("a record in memory is written")).expect("it was UTF-8");
    let end = if text.ends_with('\n') { "" } else { "\n" };
    Ok(format!("{text}{end}{line}"))
}

/// A notebook's text without its last entry, and that entry as it stood; `None` where there is no entry.
///
/// # Errors
/// If the text is not the CSV of a notebook.
pub fn without_last(file: &str, text: &str) -> Result<Option<(String, String)>> {
    let sheet = Sheet::of(file, text)?;
    Ok(sheet.rows.last().map(|row| {
        // What is left of the line before ends that one.
        let behind = row.position().map_or(text.len(), |p| p.byte() as usize);
        let at = text.len() - text[behind..].trim_start_matches(['\r', '\n']).len();
        (text[..at].to_string(), text[at..].trim().to_string())
    }))
}

/// The last entry of a notebook, its time as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LastEntry {
    /// A look at a trial: the trial's number, and when.
    Look(String, String),
    /// The start of a trial: its number, and when.
    Start(String, String),
    /// Anything else, such as an event: its number, and when.
    Other(String, String),
}

/// What the last entry of a notebook is; `None` where there is no entry.
///
/// # Errors
/// If the text is not the CSV of a notebook.
pub fn last_entry(file: &str, text: &str) -> Result<Option<LastEntry>> {
    let sheet = Sheet::of(file, text)?;
    let cell = |column: &str| {
        let i = sheet.columns.iter().position(|c| c == column)?;
        sheet.rows.last()?.get(i).map(str::to_string)
    };
    let (Some(entry), Some(trial), Some(at)) = (cell("entry"), cell("trial"), cell("at")) else {
        return Ok(None);
    };
    Ok(Some(match entry.to_lowercase().as_str() {
        "look" => LastEntry::Look(trial, at),
        "start" => LastEntry::Start(trial, at),
        _ => LastEntry::Other(trial, at),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn added(text: Option<&str>, entry: &[(&str, &str)]) -> Result<String> {
        let entry: Vec<(&str, String)> = entry.iter().map(|(c, v)| (*c, v.to_string())).collect();
        with_entry("notes.csv", text, &entry)
    }

    #[test]
    fn an_entry_is_added_below_whatever_is_there() {
        let fresh = added(None, &[("entry", "look"), ("trial", "3")]).unwrap();
        assert!(fresh.starts_with(&format!("{}\nlook,3,", COLUMNS.join(","))), "{fresh}");
        // An empty file is a new notebook.
        assert_eq!(added(Some(" \n"), &[("entry", "look"), ("trial", "3")]).unwrap(), fresh);
        let short = "entry;trial;at\nstart;1;9:00";
        assert_eq!(
            added(Some(short), &[("entry", "look"), ("trial", "1")]).unwrap(),
            "entry;trial;at\nstart;1;9:00\nlook;1;\n"
        );
        // A column that is missing is made where something is to go into it, and not for nothing.
        let more =
            added(Some(short), &[("entry", "look"), ("trial", "1"), ("note", "soft"), ("lot", "")]).unwrap();
        assert_eq!(more, "entry;trial;at;note\nstart;1;9:00\nlook;1;;soft\n");
        let with_mark = format!("\u{feff}\r\n{}\r\n", short.replace('\n', "\r\n"));
        let more = added(Some(&with_mark), &[("entry", "look"), ("note", "soft")]).unwrap();
        assert_eq!(more, "\u{feff}\r\nentry;trial;at;note\r\nstart;1;9:00\r\nlook;;;soft\n");
        let unknown = added(Some(short), &[("colour", "red")]).unwrap_err().to_string();
        assert!(
            unknown.contains("no column \"colour\"") && unknown.contains("add a column called colour"),
            "{unknown}"
        );
        assert!(added(Some(short), &[("colour", ""), ("entry", "look")]).is_ok());
    }

    #[test]
    fn the_last_entry_is_taken_out_as_it_stood() {
        let text = "entry,trial,at\nstart,1,9:00\nlook,1,10:00\n";
        assert_eq!(
            without_last("notes.csv", text).unwrap(),
            Some(("entry,trial,at\nstart,1,9:00\n".into(), "look,1,10:00".into()))
        );
        assert_eq!(without_last("notes.csv", "entry,trial,at\n").unwrap(), None);
    }
}
