//! Amounts and times as they are said rather than written: "about 40", "4-ish", "24-28 C", "three dozen".

/// Words before an amount or a time that say it is not exact, or when, and no more.
const BEFORE: [&str; 19] = [
    "about",
    "around",
    "approximately",
    "approx.",
    "approx",
    "roughly",
    "circa",
    "ca.",
    "ca",
    "c.",
    "some",
    "at least",
    "at",
    "from",
    "by",
    "until",
    "till",
    "max",
    "~",
];
/// Words after one that add nothing.
const AFTER: [&str; 12] =
    ["o'clock", "oclock", "-ish", "ish", "uhr", "or so", "sharp", "approx", "max", "latest", "+", "."];
/// Numbers in words.
const NUMBERS: [(&str, u32); 20] = [
    ("a dozen", 12),
    ("half a dozen", 6),
    ("one", 1),
    ("two", 2),
    ("three", 3),
    ("four", 4),
    ("five", 5),
    ("six", 6),
    ("seven", 7),
    ("eight", 8),
    ("nine", 9),
    ("ten", 10),
    ("eleven", 11),
    ("twelve", 12),
    ("fifteen", 15),
    ("twenty", 20),
    ("thirty", 30),
    ("forty", 40),
    ("fifty", 50),
    ("hundred", 100),
];

/// What to write for an inexact amount or time, the likeliest first: without the words around it; the upper end of a range,
/// for too many or too hot is the safe side; a number for its word. Nobody takes these for the amount
/// itself: a reader tries them, and advises the first that can be read.
///
/// ```
/// use headwater::units::exactly;
/// assert_eq!(exactly("about 40")[0], "40");
/// assert_eq!(exactly("24-28 C")[0], "28 C");
/// assert_eq!(exactly("three dozen")[0], "36");
/// assert!(exactly("4-ish").contains(&"4".to_string()));
/// ```
pub fn exactly(text: &str) -> Vec<String> {
    let mut plain =
        text.trim().to_lowercase().replace(['\u{2018}', '\u{2019}'], "'").replace('\u{2013}', "-");
    loop {
        let before = plain.clone();
        for word in BEFORE {
            if let Some(rest) = plain.strip_prefix(word)
                && (word.ends_with(['.', '~']) || !rest.starts_with(char::is_alphabetic))
            {
                plain = rest.trim().to_string();
            }
        }
        for word in AFTER {
            plain = plain.strip_suffix(word).map_or(plain.clone(), |rest| rest.trim().to_string());
        }
        if plain == before {
            break;
        }
    }
    let mut meant = Vec::new();
    if let Some(upper) = upper_end(&plain) {
        meant.push(upper);
    }
    if let Some(number) = in_figures(&plain) {
        meant.push(number);
    }
    if !plain.is_empty() && plain != text.trim().to_lowercase() {
        meant.push(as_written(text, &plain));
    }
    meant
}

/// What to write for an inexact whole number, the likeliest first: as [`exactly`], and without what sets off thousands, with
/// a nought for the letter O, without the words after it. Bunches and boxes are no number of stems: nothing is made of them.
///
/// ```
/// use headwater::units::whole_number;
/// assert_eq!(whole_number("1,200")[0], "1200");
/// assert_eq!(whole_number("4O white")[0], "40");
/// assert!(whole_number("2 bunches").is_empty());
/// ```
pub fn whole_number(text: &str) -> Vec<String> {
    let lower = text.trim().to_lowercase();
    if ["bunch", "box", "bucket", "wrap"].iter().any(|pack| lower.contains(pack)) {
        return Vec::new();
    }
    let mut meant = exactly(text);
    let groups: Vec<&str> = lower.split([',', '\'', ' ', '.']).collect();
    if groups.len() > 1 && groups[1..].iter().all(|g| g.len() == 3) && groups.iter().all(|g| all_digits(g)) {
        meant.push(groups.concat());
    }
    let figures = meant.first().unwrap_or(&lower).to_lowercase();
    let is_figure = |c: &char| c.is_ascii_digit() || *c == 'o';
    let digits: String =
        figures.chars().take_while(is_figure).map(|c| if c == 'o' { '0' } else { c }).collect();
    if figures.starts_with(|c: char| c.is_ascii_digit()) {
        meant.push(digits);
    }
    meant
}

fn all_digits(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_digit())
}

/// The part of the text that is left, with its capitals: a unit has them.
fn as_written(text: &str, plain: &str) -> String {
    let at = text.to_lowercase().find(plain);
    at.and_then(|at| text.get(at..at + plain.len())).unwrap_or(plain).to_string()
}

/// The upper end of a range with its unit: "28 C" of "24-28 C" and of "24 C to 28 C"; none of a range of clock times,
/// whose ends are two lines of a file.
fn upper_end(text: &str) -> Option<String> {
    let (lower, upper) = [" to ", " or ", " - ", "-"].iter().find_map(|dash| text.split_once(dash))?;
    let (lower, upper) = (lower.trim(), upper.trim());
    let begins = |t: &str| t.starts_with(|c: char| c.is_ascii_digit());
    (begins(lower) && begins(upper) && !upper.contains(['-', ':'])).then(|| {
        let unit = upper.rfind(|c: char| c.is_ascii_digit()).map_or("", |last| &upper[last + 1..]);
        format!("{}{}", &upper[..upper.len() - unit.len()], unit.to_uppercase())
    })
}

/// A number for its word, dozens counted.
fn in_figures(text: &str) -> Option<String> {
    let word = |text: &str| NUMBERS.iter().find(|(word, _)| *word == text).map(|(_, n)| *n);
    let dozens = text.strip_suffix("dozen").or_else(|| text.strip_suffix("doz")).map(str::trim);
    match (word(text), dozens) {
        (Some(number), _) => Some(number.to_string()),
        (None, Some(number)) => {
            let number: u32 = word(number).or_else(|| number.parse().ok())?;
            Some(number.checked_mul(12)?.to_string())
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_made_of_nothing() {
        assert!(exactly("").is_empty() && whole_number("").is_empty() && whole_number("over").is_empty());
        assert!(exactly("~").is_empty());
        assert!(exactly("soon").is_empty());
    }

    #[test]
    fn what_is_exact_is_not_said_another_way_first() {
        assert!(exactly("40").is_empty());
        assert_eq!(exactly("a dozen"), ["12"]);
        assert_eq!(whole_number("1,200")[0], "1200");
        assert!(whole_number("0,48").iter().all(|n| n == "0"));
    }
}
