//! What do your own trials say of a flower's dry hours? `cargo run --example own_trials`

use headwater::calibrate::notebook::Notebook;
use headwater::calibrate::teach::Lessons;
use headwater::flower::catalogue::Catalogue;
use headwater::flower::learned::Learned;

/// One trial, invented: ten heads held dry in a kitchen, and how many were still presentable at each look.
const NOTES: &str = "entry,trial,date,at,flower,heads,air,presentable
start,1,2027-06-13,09:00,dahlia,10,22 C 48 %,
look,1,,12:00,,,,8
look,1,,14:00,,,,5
look,1,,16:00,,,,1
";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let notes = Notebook::read("trials.csv", NOTES, &|log| std::fs::read_to_string(log))?;
    let dahlia = Catalogue::shipped().find("dahlia")?;
    let table = Learned::nothing(dahlia);
    let known = Lessons::of(&notes).learned(dahlia, None).ok_or("the notes contradict one another")?;
    for (source, known) in [("the trade's table", table), ("your trial", known)] {
        // The median head of the next delivery, and nine times out of ten.
        let [low, middle, high] = [-1.645, 0.0, 1.645].map(|z| known.hours(dahlia, z));
        println!("by {source}: {middle:.1} h ({low:.1} to {high:.1} h) in an ordinary room");
    }
    Ok(())
}
