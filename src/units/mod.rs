//! Quantities as people write them: read with their unit, kept in SI, shown again in the unit they were written in.
//!
//! Every type reads itself with [`FromStr`](std::str::FromStr) and shows itself with [`Display`](std::fmt::Display). A value that cannot be read comes
//! back as a [`UnitError`] that says what was expected and what to type instead.
//!
//! ```
//! use headwater::units::Temperature;
//! let t: Temperature = "72 F".parse().unwrap();
//! assert!((t.celsius - 22.222).abs() < 1e-3);
//! assert_eq!(t.to_string(), "72 F");
//! assert_eq!("72".parse::<Temperature>().unwrap_err().help, "write 72F if you mean Fahrenheit, or a temperature from -20C to 60C");
//! ```

mod clock;
mod inexact;
mod money;
mod quantity;
mod read;
mod temperature;

pub use clock::{ClockStyle, Moment, Span, Turn};
pub use inexact::{exactly, whole_number};
pub use money::{Currency, Money};
pub use quantity::{
    AirChanges, AirSpeed, Allowance, Altitude, Area, Humidity, Length, RoomVolume, Share, Sunshine,
    VesselWater, Volume,
};
pub use read::{UnitError, short};
pub use temperature::{Scale, Temperature, Warming};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_shown_again() {
        for text in ["22 C", "72 F", "-3 C"] {
            assert_eq!(text.parse::<Temperature>().unwrap().to_string(), text);
        }
        for text in [
            "18:30",
            "6:30 pm",
            "day before 18:00",
            "next day 00:30",
            "12:05 am",
            "3 days before 18:00",
            "2 days later 00:00",
        ] {
            assert_eq!(text.parse::<Moment>().unwrap().to_string(), text);
        }
        assert_eq!("1h 30".parse::<Span>().unwrap().to_string(), "1 h 30 min");
        assert_eq!("36 in".parse::<Length>().unwrap().to_string(), "36 in");
        // By the definition of 1959: a foot is 0.3048 m, an inch 2.54 cm.
        for text in ["7 ft 6 in", "7'6\"", "7 feet 6 inches", "7.5 ft", "90 in"] {
            let length = text.parse::<Length>().unwrap();
            assert!((length.metres - 2.286).abs() < 1e-9 && length.in_feet(), "{text}");
        }
        for text in ["7 ft 6", "7 m 6 in", "ft in", "7 ft six in"] {
            assert!(text.parse::<Length>().is_err(), "{text}");
        }
    }

    #[test]
    fn the_two_scales_agree() {
        // Definition of the Fahrenheit scale: 32 F is 0 C, 212 F is 100 C.
        let f: Temperature = "86F".parse().unwrap();
        assert!((f.celsius - 30.0).abs() < 1e-12);
        assert!(("9F".parse::<Warming>().unwrap().kelvin - 5.0).abs() < 1e-12);
    }

    #[test]
    fn noon_and_midnight_in_twelve_hours() {
        assert_eq!("12 am".parse::<Moment>().unwrap().hours, 0.0);
        assert_eq!("12:30 pm".parse::<Moment>().unwrap().hours, 12.5);
    }

    #[test]
    fn nonsense_is_refused_with_a_way_out() {
        for text in ["", "C", "warm", "22 K", "1e9 C", "NaN"] {
            let error = text.parse::<Temperature>().unwrap_err();
            assert!(error.help.starts_with("write"), "{text}: {error}");
        }
        for text in ["25:00", "18:60", "13 pm", "0 am", "noonish", "24:01"] {
            assert!(text.parse::<Moment>().is_err(), "{text}");
        }
        assert!("130".parse::<Humidity>().is_err());
        assert!("0".parse::<Span>().is_err());
    }
}
