//! What is wrong with a file that is not TOML, in plain words.

use crate::error::Problem;
use crate::units::Moment;

/// A fault found by the TOML reader, in words for somebody who has never heard of TOML. `read` is the text at fault.
pub fn in_words(message: &str, read: &str) -> Problem {
    let message = message.lines().next().unwrap_or("this is not TOML");
    let knows = |words: &str| message.contains(words);
    if knows("duplicate key") {
        Problem::new(format!("`{}` stands here a second time", crate::error::printable(read)))
            .expected("each key once in its section, and each section in single brackets once in the file")
            .help("take one of the two out")
    } else if knows("invalid date") && read.parse::<Moment>().is_ok() {
        Problem::new("a clock time stands here without quotes")
            .expected("quotes at both ends of a text")
            .help(format!("{read:?}"))
    } else if knows("invalid date") {
        Problem::new(format!("{read:?} is not a day of the calendar"))
            .expected("year-month-day")
            .help("date = 2027-08-14")
    } else if knows("string values must be quoted") {
        Problem::new("a text stands here without quotes")
            .expected("quotes at both ends of a text")
            .help(format!("{read:?}"))
    } else if knows("invalid basic string") || knows("invalid literal string") {
        Problem::new("a text is not closed here")
            .expected("quotes at both ends of a text")
            .help("add a \" at the end of the text")
    } else if knows("unclosed") && knows("table") {
        Problem::new("a heading is not closed here")
            .expected("as many closing brackets as opening ones, such as [event] or [[piece]]")
            .help("add a ] at the end of the heading")
    } else {
        Problem::new(format!("the file cannot be read here: {message}"))
            .expected("lines such as name = \"value\" under headings such as [event] or [[piece]]")
            .help("compare with a fresh template: headwater new -")
    }
}
