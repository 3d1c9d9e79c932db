//! Quantities as people write them.

use crate::run::fuzz;
use crate::spoil::{Corpus, Form};
use headwater::units::*;
use std::fmt::Display;
use std::str::FromStr;

/// A quantity that was read is a number, and what it shows is read as the same again, to the digits shown.
fn quantity<T: FromStr<Err = UnitError> + Display>(text: &str, value: impl Fn(&T) -> f64) -> bool {
    match text.parse::<T>() {
        Ok(read) => {
            let (number, shown) = (value(&read), read.to_string());
            assert!(number.is_finite() && number.abs() <= 1e6, "{text:?}: {number}");
            assert!(
                shown.len() <= text.len() + 40 && !shown.contains("NaN") && !shown.contains("-0 "),
                "{shown:?}"
            );
            true
        }
        Err(error) => {
            assert!(!error.expected.is_empty() && !error.help.is_empty());
            false
        }
    }
}

/// Whether any quantity is read of it.
pub fn read(text: &str) -> bool {
    let warming = match text.parse::<Warming>() {
        Ok(w) => w.kelvin.abs() <= 30.0,
        Err(_) => false,
    };
    [
        quantity::<Temperature>(text, |t| t.celsius),
        quantity::<Humidity>(text, |q| q.percent),
        quantity::<AirSpeed>(text, |q| q.metres_per_second),
        quantity::<Sunshine>(text, |q| q.watts_per_square_metre),
        quantity::<Altitude>(text, |q| q.metres),
        quantity::<Volume>(text, |q| q.millilitres),
        quantity::<Allowance>(text, |q| q.percent),
        quantity::<Area>(text, |q| q.square_metres),
        quantity::<RoomVolume>(text, |q| q.cubic_metres),
        quantity::<AirChanges>(text, |q| q.per_hour),
        quantity::<Share>(text, |q| q.percent),
        quantity::<Length>(text, |l| l.metres),
        quantity::<Span>(text, |s| s.hours),
        quantity::<Moment>(text, |m| m.hours),
        quantity::<Money>(text, |m| m.amount),
        warming,
    ]
    .contains(&true)
}

#[test]
fn quantities_are_read_or_refused() {
    let corpus: Vec<String> = [
        "22 C",
        "72.5°F",
        "-3 celsius",
        "65 %",
        "45",
        "3 mph",
        "0.1 m/s",
        "800 W/m2",
        "120 m",
        "400 ft",
        "10 ml",
        "0.5 oz",
        "2 l",
        "25 %",
        "200 m2",
        "2000 sq ft",
        "35000 cu ft",
        "4 an hour",
        "12 m",
        "36 in",
        "6'",
        "6h",
        "1h 30",
        "2 days 3 h",
        "45 min",
        "18:30",
        "6:30 pm",
        "day before 18:00",
        "3 days later 07:15",
        "midnight",
        "£1.20",
        "1.20 EUR",
        "12 kr",
        "−5 K",
    ]
    .map(str::to_string)
    .to_vec();
    fuzz("quantity", 20_000, &Corpus::new(corpus, Form::Words), read);
}
