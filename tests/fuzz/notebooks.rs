//! Notebooks of trials.

use crate::logs::{load, sane};
use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::calibrate::notebook::{Notebook, with_entry, without_last};

/// Whether it is read; an entry put into it can be taken out again.
pub fn read(text: &str) -> bool {
    let entry = [("entry", "look".to_string()), ("trial", "1".to_string()), ("at", "12:00".to_string())];
    // One in a few, since it takes as long as reading the rest.
    if text.len().is_multiple_of(8)
        && let Ok(longer) = with_entry("trials.csv", Some(text), &entry)
        && let Ok(back) = without_last("trials.csv", &longer)
    {
        assert!(back.is_some(), "what was put in can be taken out");
    }
    let notes = match Notebook::read("trials.csv", text, &load) {
        Ok(notes) => notes,
        Err(error) => return refused(&error),
    };
    assert!(notes.next_number() >= 1);
    for trial in &notes.trials {
        sane(&trial.climate);
        for look in &trial.looks {
            let weighed = [look.weight_g, look.drunk_g];
            assert!(look.at.is_finite() && weighed.iter().flatten().all(|g| g.is_finite()));
        }
        let _ = trial.endings();
    }
    true
}

/// Small notebooks that are right.
const SMALL: &[&str] = &[
    "entry,trial,date,at,flower,heads,air,presentable
start,1,2027-06-13,09:00,dahlia,10,21 C 45 %,
look,1,,12:00,,,,7
look,1,,14:00,,,,2
",
    "entry,trial,date,at,flower,heads,air,presentable,flagging,wilted
start,2,2027-06-14,09:00,rose,12,warm barn,,,
look,2,,12:00,,,,12,0,0
look,2,,21:00,,,,0,8,4
",
    "entry,trial,at,date,flower,lot,heads,conditioning,stage,leaves,air,wilted,weight,note
start,3,8:30 am,2027-06-14,lisianthus,Grower B,10,a few hours in water,half open,off,70F 45%,,142.5 g,invented
look,3,10:00,,,,,,,,22 C 48 %,0,140 g,
look,3,next day 00:00,,,,8,,,,,6,5 oz,
",
    "entry,trial,date,at,flower,heads,air,presentable
start,7,2027-08-07,09:00,hydrangea,10,whole-day.csv,
look,7,,12:00,,,,7
start,8,2027-08-07,09:00,ivy,10,cool store,
",
    "entry,trial,date,at,flower,heads,treated,presentable,piece,hours,worth,give or take,forecast
event,4,2027-06-14,,dahlia,40,water tube,31,long table,6.5,0.7,0.2,0.71 0.83 0.9
event,4,2027-06-14,,rose,40,tucked dry,40,arch,6.5,,,
",
    "entry,trial,date,at,flower,heads,leaves,lying,treated,air,presentable,drunk
start,5,2027-06-14,09:00,rose,5,on,,water tube,21 C 45 %,,
look,5,,12:00,,,,,,,,7 g
look,5,,18:00,,,,,,,5,0.9 oz
start,6,2027-06-14,09:00,rose,10,off,in a heap,,21 C 45 %,,
look,6,,18:00,,,,,,,4,
",
    "entry;trial;date;at;flower;heads;air;presentable
start;1;2027-06-13;09:00;dahlia;10;21 C 45 %;
look;1;;12:00;;;;7
",
];

#[test]
fn notebooks_are_read_or_refused() {
    let mut corpus: Vec<String> = SMALL.repeat(6).into_iter().map(str::to_string).collect();
    corpus.extend(texts("reference-data/demo", ".csv").into_iter().map(|t| t.1));
    corpus.extend(texts("tests/found", ".notes").into_iter().map(|t| t.1));
    fuzz("notebook", 4000, &Corpus::new(corpus, Form::Cells), read);
}
