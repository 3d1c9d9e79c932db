//! What vessels are called, and how much water the trade fills them with.

/// Vessels by the trade's words, with the water in them as they are filled, ml: a middle and a range, all from memory.
pub const VESSELS: [(&str, f64, [f64; 2]); 9] = [
    ("bud vase", 140.0, [80.0, 200.0]),
    ("jar", 450.0, [250.0, 900.0]),
    ("compote", 900.0, [600.0, 1200.0]),
    ("bowl", 1400.0, [900.0, 2000.0]),
    ("centrepiece", 1400.0, [900.0, 2000.0]),
    ("vase", 1700.0, [1000.0, 2500.0]),
    ("jug", 1700.0, [1000.0, 2500.0]),
    ("urn", 2700.0, [1500.0, 4000.0]),
    ("bucket", 5000.0, [3000.0, 8000.0]),
];

/// The one word for a vessel: that of the trade, or the florist's own in lower case.
pub fn name_of(words: &str) -> String {
    let word = words.trim().to_lowercase();
    let known = VESSELS.iter().find(|v| v.0 == word || format!("{}s", v.0) == word);
    known.map_or(word, |v| v.0.to_string())
}
