//! What the reader of an event file says of a problem, in the words of the page: no key of the file, no heading of it.

use crate::error::Problem;

/// A problem in the page's words.
pub struct Said {
    /// Whether something is missing, rather than wrong.
    pub missing: bool,
    /// What is wrong.
    pub text: String,
    /// What may stand there.
    pub expected: String,
    /// What may be meant instead, to be put into the field by a press.
    pub meant: Option<String>,
    /// What else may help, in words; empty where that is a matter of the file.
    pub advice: String,
}

/// Keys and headings of an event file, and what the page calls them.
const CALLED: [(&str, &str); 80] = [
    ("access", "set-up time"),
    ("air", "how air gets in"),
    ("air_speed", "air past the flowers"),
    ("altitude", "height above the sea"),
    ("assurance", "how sure"),
    ("at", "time"),
    ("building", "building"),
    ("built", "how it is built"),
    ("candles", "candles"),
    ("chore", "other work"),
    ("clock_ahead", "clock ahead of the record"),
    ("conditioning", "how they were prepared"),
    ("cooled", "cooled"),
    ("cooling", "cooling"),
    ("cooling_off", "cooling off at"),
    ("cooling_on", "cooling on at"),
    ("count", "how many alike"),
    ("counts", "how closely it is seen"),
    ("crew", "hands"),
    ("cultivar_known", "variety known"),
    ("date", "day"),
    ("dew_point", "dew point"),
    ("doing", "what the guests do"),
    ("doors", "guests from"),
    ("drive", "drive"),
    ("dry_greens", "greens out of water"),
    ("dry_hours", "hours dry"),
    ("end", "until"),
    ("event", "the day"),
    ("floor_area", "floor"),
    ("flower", "flower"),
    ("forecast", "forecast"),
    ("forecast_days", "days ahead of the forecast"),
    ("from", "from"),
    ("give_or_take", "give or take"),
    ("glass", "glass"),
    ("guests", "guests"),
    ("heads", "heads"),
    ("height", "height"),
    ("hour", "reading"),
    ("hourly", "wage"),
    ("latitude", "latitude"),
    ("leaves", "leaves"),
    ("length", "length"),
    ("like", "like"),
    ("log", "logger's file"),
    ("log_column", "column of temperatures"),
    ("log_dates", "order of day and month"),
    ("log_day", "day of the logger's file"),
    ("longitude", "longitude"),
    ("look", "fullness"),
    ("lot", "delivery"),
    ("marks", "other times"),
    ("minimum", "shortest call"),
    ("moisture_of", "moisture from"),
    ("most", "how many there are"),
    ("move", "move"),
    ("near", "near"),
    ("normals", "what is normal"),
    ("outdoors", "outdoors"),
    ("people", "people"),
    ("piece", "piece"),
    ("placed_from", "set from"),
    ("placed_to", "set by"),
    ("presentable", "heads still good"),
    ("space", "room"),
    ("split", "cut into parts"),
    ("sun_in", "sun that comes in"),
    ("target", "how good"),
    ("time_zone", "time zone"),
    ("travel", "journey"),
    ("treatments", "how it may be set"),
    ("venue", "venue"),
    ("vessel", "vessel"),
    ("vessel_water", "water in one vessel"),
    ("vessels", "vessels"),
    ("volume", "size"),
    ("wait_in_water", "waits in water"),
    ("weather", "record of weather"),
    ("way", "way to do it"),
];

/// What the page calls a key or the last part of a heading.
pub fn called(key: &str) -> String {
    let last = key.rsplit('.').next().unwrap_or(key);
    match CALLED.iter().find(|(k, _)| *k == last) {
        Some((_, name)) => (*name).to_string(),
        None => last.replace('_', " "),
    }
}

/// A problem in the page's words; `key` is that of the field at which it is told.
pub fn said(problem: &Problem, key: &str) -> Said {
    let meant = problem.help.as_deref().and_then(|help| meant(help, key));
    let advice =
        problem.help.as_deref().filter(|help| meant.is_none() && !help.contains(['=', '[', '`', '_', '"']));
    Said {
        advice: advice.filter(|help| help.contains(' ')).unwrap_or_default().to_string(),
        missing: problem.lacks.is_some(),
        text: match &problem.lacks {
            Some(lacking) => format!("{} is still empty", called(lacking)),
            None => worded(&problem.message),
        },
        expected: problem.expected.as_deref().map_or(String::new(), worded),
        meant: meant.filter(|_| problem.lacks.is_none()),
    }
}

/// The value that a hint would have typed for a key, if it names one.
fn meant(help: &str, key: &str) -> Option<String> {
    let help = help.split(", or ").next()?.trim();
    let value = match help.split_once(" = ") {
        Some((named, value)) if named == key => value,
        Some(_) => return None,
        None => help,
    };
    let quoted = value.strip_prefix('"').and_then(|v| v.strip_suffix('"'));
    let plain = |v: &str| !v.is_empty() && !v.contains(['"', '[', ']', '`', '=', '(', ';', ':']);
    match quoted {
        Some(text) if !text.contains('"') => Some(text.to_string()),
        // A bare word is a name out of a list, or a number; a sentence is advice.
        None if plain(value) && (value.split_whitespace().count() == 1 || help.contains(" = ")) => {
            Some(value.to_string())
        }
        _ => None,
    }
}

/// A sentence of the reader with keys and headings as the page calls them.
fn worded(text: &str) -> String {
    let mut said = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(['`', '[']) {
        said.push_str(&rest[..at]);
        let (open, after) = rest[at..].split_at(1);
        let close = if open == "`" { '`' } else { ']' };
        let after = after.trim_start_matches('[');
        let Some(end) = after.find(close) else {
            rest = after;
            continue;
        };
        let name = &after[..end];
        let is_key = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || "._".contains(c));
        said.push_str(&if is_key { called(name) } else { name.to_string() });
        rest = after[end..].trim_start_matches(close);
    }
    said.push_str(rest);
    bare_keys(&said)
}

/// A sentence in which keys with an underline or an equals sign after them, and words of the terminal, are put plainly.
fn bare_keys(text: &str) -> String {
    let text =
        text.replace(", which `headwater flowers` lists", "").replace(", which headwater flowers lists", "");
    let words = text.split(' ').map(|word| {
        let core = word.trim_matches(|c: char| !c.is_alphanumeric() && c != '_');
        if core.contains('_') { word.replace(core, &called(core)) } else { word.to_string() }
    });
    words.collect::<Vec<_>>().join(" ").replace(" = ", " ")
}
