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

mod money;
mod quantities;

pub use money::{Currency, Money};
pub use quantities::{
    AirChanges, AirSpeed, Allowance, Altitude, Area, ClockStyle, Humidity, Length, Moment, RoomVolume, Scale,
    Share, Span, Sunshine, Temperature, UnitError, Volume, Warming, short,
};
