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
    } else if knows("invalid date") && read.matches('-').count() == 2 {
        Problem::new(format!("{read:?} is not a day of the calendar"))
            .expected("year-month-day")
            .help("date = 2027-08-14")
    } else if read.trim().is_empty() && knows("must be quoted") {
        Problem::new("nothing stands after the = here")
            .expected("a value, such as 40 or \"16:00\"")
            .help("write the value, or take the line out")
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
    } else if knows("expected newline") {
        Problem::new("something stands after the value here")
            .expected(
                "one value on a line, with no comma or semicolon after it, and a # before a note beside it",
            )
            .help("take out what stands there, or put it on a line of its own")
    } else if knows("expected `=`") || knows("invalid unquoted key") {
        Problem::new("there is no = between a word and its value here")
            .expected("lines such as name = \"value\" under headings such as [event] or [[piece]]")
            .help("compare with a fresh file: headwater new -")
    } else if [
        "invalid float",
        "invalid fraction",
        "invalid integer",
        "invalid boolean",
        "invalid date",
        "invalid time",
    ]
    .into_iter()
    .any(knows)
    {
        Problem::new("this is neither a number nor a text in quotes")
            .expected("a plain number such as 40, or a text in quotes")
            .help("put it in quotes")
    } else {
        Problem::new("this line cannot be read")
            .expected("lines such as name = \"value\" under headings such as [event] or [[piece]]")
            .help("compare with a fresh file: headwater new -")
    }
}
