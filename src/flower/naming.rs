//! Names as a florist writes them: "white roses", "a dozen blush peonies' worth of peony", "dinner plate dahlias".
//!
//! A colour or a quality says which roses to buy, not how long a rose lasts; so these words are passed over where the name
//! with them is none of the catalogue. The lists are common practice, no source.

/// Words of colour, of which the trade has many for one.
const COLOURS: [&str; 49] = [
    "amber",
    "apricot",
    "black",
    "blue",
    "blush",
    "bronze",
    "brown",
    "burgundy",
    "butter",
    "caramel",
    "champagne",
    "chartreuse",
    "chocolate",
    "copper",
    "coral",
    "cream",
    "creamy",
    "crimson",
    "dusky",
    "dusty",
    "fuchsia",
    "gold",
    "golden",
    "green",
    "ivory",
    "lavender",
    "lilac",
    "lime",
    "magenta",
    "maroon",
    "mauve",
    "nude",
    "orange",
    "peach",
    "peachy",
    "pink",
    "plum",
    "purple",
    "red",
    "rust",
    "salmon",
    "scarlet",
    "silver",
    "tan",
    "taupe",
    "terracotta",
    "violet",
    "white",
    "yellow",
];

/// Words that say how good, how pale or how large, and no more; and what stands before a noun anyway.
const QUALITIES: [&str; 25] = [
    "a", "an", "the", "some", "of", "my", "bicolour", "bicolor", "bright", "pale", "light", "dark", "deep",
    "hot", "soft", "pastel", "fresh", "nice", "lovely", "open", "tight", "premium", "long", "short", "local",
];

/// Nouns that say no flower.
const NO_FLOWER: [&str; 16] = [
    "flower",
    "flowers",
    "bloom",
    "blooms",
    "green",
    "greens",
    "greenery",
    "foliage",
    "filler",
    "mix",
    "mixed",
    "assorted",
    "seasonal",
    "garden",
    "wild",
    "wildflowers",
];

/// Whether a name, plain, says no flower at all: "pink flowers", "mixed greenery".
pub fn says_none(name: &str) -> bool {
    let words = plain_words(name);
    words.iter().all(|w| NO_FLOWER.contains(&w.as_str()))
}

/// The flowers of a name that joins several: "roses & dahlias", "rose / peony".
pub fn several(name: &str) -> Vec<String> {
    let joined =
        [" and ", " or ", " with "].iter().fold(name.to_lowercase(), |name, word| name.replace(word, "&"));
    let parts: Vec<String> = joined.split(['&', '+', '/', ',']).map(|p| p.trim().to_string()).collect();
    if parts.len() > 1 && parts.iter().all(|p| !p.is_empty()) { parts } else { Vec::new() }
}

/// A name without its cultivar in quotes: rose of "rose 'Red Lantern'".
fn without_cultivar(name: &str) -> String {
    let quote = |c: char| matches!(c, '\'' | '\u{2018}' | '\u{2019}' | '"');
    let opens = name.char_indices().find(|(i, c)| quote(*c) && name[..*i].ends_with(' ')).map(|(i, _)| i);
    match opens {
        Some(from) if name.trim_end().ends_with(quote) && from > 0 => name[..from].trim().to_string(),
        _ => name.to_string(),
    }
}

/// The words of a name in small letters, without what stands between them.
fn words(name: &str) -> Vec<String> {
    let name = without_cultivar(name);
    let letters = |c: char| c.is_alphanumeric() || c == '\'' || c == '\u{2019}';
    name.to_lowercase().split(|c| !letters(c)).filter(|w| !w.is_empty()).map(String::from).collect()
}

/// What a name may mean if it is not found as it stands, the nearest to it first: its words apart, one flower for many,
/// and both without colours and qualities.
///
/// ```
/// use headwater::flower::catalogue::Catalogue;
/// let meant = |name: &str| Catalogue::shipped().find(name).unwrap().id().to_string();
/// assert_eq!(meant("white roses"), meant("rose"));
/// assert_eq!(meant("Dusty-pink spray roses"), meant("spray rose"));
/// assert_eq!(meant("blush peonies"), meant("peony"));
/// assert_eq!(meant("dinner-plate dahlias"), meant("dinner-plate dahlia"));
/// ```
pub fn readings(name: &str) -> Vec<String> {
    let mut readings = Vec::new();
    for words in [words(name), plain_words(name)] {
        let Some((last, before)) = words.split_last() else { continue };
        for last in [last.clone()].into_iter().chain(singular(last)) {
            for between in [" ", "-", ""] {
                let reading = before.iter().chain([&last]).cloned().collect::<Vec<_>>().join(between);
                if !readings.contains(&reading) {
                    readings.push(reading);
                }
            }
        }
    }
    readings
}

/// A name without colours and qualities; as it stands where nothing would be left.
pub fn plain(name: &str) -> String {
    let words = plain_words(name);
    if words.is_empty() { name.to_lowercase() } else { words.join(" ") }
}

/// The words of colour in a name, as they stand in it.
pub fn colours(name: &str) -> Vec<String> {
    words(name).into_iter().filter(|w| COLOURS.contains(&w.as_str())).collect()
}

fn plain_words(name: &str) -> Vec<String> {
    let says_more = |w: &String| !COLOURS.contains(&w.as_str()) && !QUALITIES.contains(&w.as_str());
    words(name).into_iter().filter(says_more).collect()
}

/// What one of many may be called: peonies are a peony or a peonie, roses a rose or a ros.
fn singular(word: &str) -> Vec<String> {
    let endings = [("ies", "y"), ("ses", "s"), ("es", ""), ("s", "")];
    let of = |(many, one): (&str, &str)| Some(format!("{}{one}", word.strip_suffix(many)?));
    let mut singular: Vec<String> = endings.into_iter().rev().filter_map(of).collect();
    singular.retain(|w| w.chars().count() > 2);
    singular
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_of_the_list_is_written_once_and_in_order() {
        assert!(COLOURS.windows(2).all(|w| w[0] < w[1]));
    }

    #[test]
    fn a_name_without_any_other_word_has_no_reading_but_itself() {
        assert_eq!(readings("white"), ["white"]);
        assert!(readings("").is_empty());
        assert!(readings("sweet peas").contains(&"sweet pea".to_string()));
    }
}
