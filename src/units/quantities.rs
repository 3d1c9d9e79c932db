//! The quantities: temperatures, lengths, times and the like.

use std::fmt::{self, Display};
use std::str::FromStr;

/// What was wrong with a quantity: what was expected, and what to type instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitError {
    /// What should have stood there, in the user's terms.
    pub expected: String,
    /// What to type instead.
    pub help: String,
}

impl UnitError {
    pub(super) fn new(expected: &str, help: impl Into<String>) -> Self {
        UnitError { expected: expected.into(), help: help.into() }
    }
}

impl Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "expected {}; {}", self.expected, self.help)
    }
}

impl std::error::Error for UnitError {}

/// Splits `"22.5 °C"` into the number and its unit in lower case, without blanks or a degree sign.
pub(super) fn number_and_unit(text: &str) -> Option<(f64, String)> {
    // A comma before three digits may set off thousands or decimals: nobody can tell.
    if let Some((_, after)) = text.split_once(',')
        && after.chars().take_while(char::is_ascii_digit).count() == 3
    {
        return None;
    }
    let text = text.trim().replace('−', "-").replace(',', ".");
    let end = text
        .char_indices()
        .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || (*i == 0 && (*c == '-' || *c == '+'))))
        .map_or(text.len(), |(i, _)| i);
    let number: f64 = text[..end].parse().ok()?;
    let unit = text[end..].replace(['°', ' '], "").to_lowercase();
    number.is_finite().then_some((number, unit))
}

/// Shows a number with at most one decimal, and none where it is whole.
pub fn short(number: f64) -> String {
    let rounded = (number * 10.0).round() / 10.0 + 0.0; // no minus before a nought
    if rounded == rounded.trunc() { format!("{rounded:.0}") } else { format!("{rounded:.1}") }
}

/// The temperature scale that the user wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

/// A temperature of air or water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperature {
    /// Degrees Celsius.
    pub celsius: f64,
    /// The scale it was written in.
    pub scale: Scale,
}

impl Temperature {
    /// A temperature in degrees Celsius.
    pub fn from_celsius(celsius: f64) -> Self {
        Temperature { celsius, scale: Scale::Celsius }
    }

    /// The same temperature, shown in `scale`.
    pub fn shown_in(self, scale: Scale) -> Self {
        Temperature { scale, ..self }
    }
}

impl FromStr for Temperature {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        const EXPECTED: &str = "a temperature in C or F";
        let (number, unit) =
            number_and_unit(text).ok_or_else(|| UnitError::new(EXPECTED, "write it like 22C or 72F"))?;
        let (celsius, scale) = match unit.as_str() {
            "c" | "celsius" | "degc" => (number, Scale::Celsius),
            "f" | "fahrenheit" | "degf" => ((number - 32.0) / 1.8, Scale::Fahrenheit),
            "" if number > 45.0 => {
                return Err(UnitError::new(
                    EXPECTED,
                    format!("write {number}F if you mean Fahrenheit, or a temperature from -20C to 60C"),
                ));
            }
            "" => (number, Scale::Celsius),
            _ => return Err(UnitError::new(EXPECTED, "write it like 22C or 72F")),
        };
        if scale == Scale::Celsius && number > 60.0 && number <= 140.0 {
            return Err(UnitError::new(
                EXPECTED,
                format!("write {number}F if you mean Fahrenheit, or a temperature from -20C to 60C"),
            ));
        }
        if (-20.0..=60.0).contains(&celsius) {
            Ok(Temperature { celsius, scale })
        } else {
            Err(UnitError::new(EXPECTED, "write a temperature from -20C to 60C (-4F to 140F)"))
        }
    }
}

impl Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self.scale {
            Scale::Celsius => write!(f, "{} C", short(self.celsius)),
            Scale::Fahrenheit => write!(f, "{} F", short(self.celsius * 1.8 + 32.0)),
        }
    }
}

/// A difference of temperature, as in "5 C hotter".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warming {
    /// Kelvin.
    pub kelvin: f64,
}

impl FromStr for Warming {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        const EXPECTED: &str = "a difference of temperature of at most 30 C or 54 F";
        match number_and_unit(text) {
            Some((n, u)) if (u.is_empty() || u == "c" || u == "k") && n.abs() <= 30.0 => {
                Ok(Warming { kelvin: n })
            }
            Some((n, u)) if u == "f" && n.abs() <= 54.0 => Ok(Warming { kelvin: n / 1.8 }),
            _ => Err(UnitError::new(EXPECTED, "write it like 5C or 9F")),
        }
    }
}

/// Defines a quantity with one SI number: its name, its units with their factors, its range.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $field:ident, $field_doc:literal, $expected:literal, $example:literal,
     $range:expr, [$($unit:literal => $factor:expr),+], shown $shown:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name {
            #[doc = $field_doc]
            pub $field: f64,
        }

        impl FromStr for $name {
            type Err = UnitError;
            fn from_str(text: &str) -> Result<Self, UnitError> {
                let error = || UnitError::new($expected, concat!("write it like ", $example));
                let (number, unit) = number_and_unit(text).ok_or_else(error)?;
                let factor = match unit.as_str() {
                    $($unit => $factor,)+
                    _ => return Err(error()),
                };
                let value = number * factor;
                if ($range).contains(&value) {
                    Ok($name { $field: value })
                } else if $shown == "%" && unit.is_empty() && value > 0.0 && value < 1.0 {
                    let percent = short(100.0 * value);
                    Err(UnitError::new($expected, format!("write {percent} if you mean {percent} %")))
                } else {
                    Err(error())
                }
            }
        }

        impl Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
                write!(f, concat!("{} ", $shown), short(self.$field))
            }
        }
    };
}

quantity!(
    /// Relative humidity of the air.
    Humidity, percent, "Percent.", "a relative humidity from 1 to 100 %", "65 or 65 %",
    1.0..=100.0, ["" => 1.0, "%" => 1.0, "%rh" => 1.0, "rh" => 1.0, "percent" => 1.0], shown "%"
);
quantity!(
    /// Speed of the air past the flower.
    AirSpeed, metres_per_second, "Metres per second.", "an air speed from 0 to 30 m/s", "0.1, 0.5 m/s or 3 mph",
    0.0..=30.0, ["" => 1.0, "m/s" => 1.0, "mph" => 0.44704, "km/h" => 1.0 / 3.6, "kph" => 1.0 / 3.6, "ft/min" => 0.00508], shown "m/s"
);
quantity!(
    /// Sunshine on a level surface.
    Sunshine, watts_per_square_metre, "Watts per square metre.", "sunshine on a level surface from 0 to 1400 W/m2",
    "800 (full summer sun) or 0 (shade)", 0.0..=1400.0, ["" => 1.0, "w/m2" => 1.0, "w/m²" => 1.0], shown "W/m2"
);
quantity!(
    /// Height above the sea.
    Altitude, metres, "Metres.", "a height above the sea from -400 to 4500 m", "120 m or 400 ft",
    -400.0..=4500.0, ["" => 1.0, "m" => 1.0, "ft" => 0.3048], shown "m"
);
quantity!(
    /// Volume of water.
    Volume, millilitres, "Millilitres.", "a volume of water from 0.5 to 2000 ml", "10 ml or 0.5 oz",
    0.5..=2000.0, ["ml" => 1.0, "" => 1.0, "cc" => 1.0, "l" => 1000.0, "oz" => 29.5735, "floz" => 29.5735], shown "ml"
);
quantity!(
    /// Something added on top, as a share of it.
    Allowance, percent, "Percent.", "an allowance from 0 to 200 %", "25 %",
    0.0..=200.0, ["%" => 1.0, "" => 1.0, "percent" => 1.0], shown "%"
);
quantity!(
    /// Area of a floor.
    Area, square_metres, "Square metres.", "a floor area from 4 to 50000 m2", "200 m2 or 2000 sq ft",
    4.0..=50_000.0, ["m2" => 1.0, "m²" => 1.0, "sqm" => 1.0, "ft2" => 0.092_903_04, "ft²" => 0.092_903_04, "sqft" => 0.092_903_04], shown "m2"
);
quantity!(
    /// Volume of a room.
    RoomVolume, cubic_metres, "Cubic metres.", "the volume of a room from 10 to 1000000 m3", "1000 m3 or 35000 cu ft",
    10.0..=1e6, ["m3" => 1.0, "m³" => 1.0, "ft3" => 0.028_316_846_592, "ft³" => 0.028_316_846_592, "cuft" => 0.028_316_846_592], shown "m3"
);
quantity!(
    /// How often the air of a room is changed.
    AirChanges, per_hour, "Times an hour.", "air changes an hour from 0.1 to 200", "4 or 4 an hour",
    0.1..=200.0, ["" => 1.0, "/h" => 1.0, "anhour" => 1.0, "perhour" => 1.0], shown "an hour"
);
quantity!(
    /// A share of heads.
    Share, percent, "Percent.", "a share from 1 to 100 %", "95 %",
    1.0..=100.0, ["%" => 1.0, "" => 1.0, "percent" => 1.0], shown "%"
);

/// A length of garland, or the reach of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    /// Metres.
    pub metres: f64,
    written: String,
}

impl Length {
    /// Whether it was written in feet or inches.
    pub fn in_feet(&self) -> bool {
        let written = self.written.trim_end();
        ["ft", "foot", "feet", "'", "in", "inch", "inches", "\""].iter().any(|unit| written.ends_with(unit))
    }
}

impl FromStr for Length {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let error = || {
            UnitError::new("a length above 0, of at most 2000 m", "write it like 12 m, 90 cm, 40 ft or 36 in")
        };
        let (number, unit) = number_and_unit(text).ok_or_else(error)?;
        let factor = match unit.as_str() {
            "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
            "cm" => 0.01,
            "ft" | "foot" | "feet" | "'" => 0.3048,
            "in" | "inch" | "inches" | "\"" => 0.0254,
            _ => return Err(error()),
        };
        let metres = number * factor;
        if metres > 0.0 && metres <= 2000.0 {
            Ok(Length { metres, written: text.trim().to_string() })
        } else {
            Err(error())
        }
    }
}

impl Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.written)
    }
}

/// A span of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Hours.
    pub hours: f64,
}

impl FromStr for Span {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let error = || {
            UnitError::new(
                "a span of time above 0, of at most 60 days",
                "write it like 6h, 45 min, 1h 30 or 2 days",
            )
        };
        let lower = text.trim().to_lowercase();
        let mut rest = lower.as_str();
        let mut hours = 0.0;
        let mut last = 0.0; // hours per unit of the part before, so that "1h 30" means thirty minutes
        if rest.is_empty() {
            return Err(error());
        }
        while !rest.is_empty() {
            let digits = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
            let number: f64 = rest[..digits].parse().map_err(|_| error())?;
            rest = rest[digits..].trim_start();
            let letters = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
            let unit = match &rest[..letters] {
                "" if last == 1.0 => 1.0 / 60.0,
                "" | "h" | "hr" | "hrs" | "hour" | "hours" => 1.0,
                "m" | "min" | "mins" | "minute" | "minutes" => 1.0 / 60.0,
                "d" | "day" | "days" => 24.0,
                _ => return Err(error()),
            };
            hours += number * unit;
            last = unit;
            rest = rest[letters..].trim_start();
        }
        if hours > 0.0 && hours <= 24.0 * 60.0 { Ok(Span { hours }) } else { Err(error()) }
    }
}

impl Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let minutes = (self.hours * 60.0).round() as i64;
        match (minutes / 60, minutes % 60) {
            (0, m) => write!(f, "{m} min"),
            (h, 0) => write!(f, "{h} h"),
            (h, m) => write!(f, "{h} h {m} min"),
        }
    }
}

/// How the user writes clock times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ClockStyle {
    /// `18:30`
    #[default]
    TwentyFour,
    /// `6:30 pm`
    TwelveHour,
}

/// A time on the clock of the venue, in hours from the midnight that begins the event's day.
///
/// `-6.0` is six in the evening of the day before; `24.5` is half past midnight at the end of the day.
///
/// ```
/// use headwater::units::Moment;
/// assert_eq!("day before 6:30 pm".parse::<Moment>().unwrap().hours, -5.5);
/// assert_eq!("next day 00:30".parse::<Moment>().unwrap().to_string(), "next day 00:30");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Hours from the midnight that begins the event's day.
    pub hours: f64,
    /// How it was written.
    pub style: ClockStyle,
}

impl Moment {
    /// A moment that many hours after the midnight that begins the event's day.
    pub fn at(hours: f64) -> Self {
        Moment { hours, style: ClockStyle::TwentyFour }
    }

    /// The same moment, shown in `style`.
    pub fn shown_as(self, style: ClockStyle) -> Self {
        Moment { style, ..self }
    }

    /// The days from the event's day, and the minutes since midnight of that day.
    pub fn day_and_minute(self) -> (i64, i64) {
        let minutes = (self.hours * 60.0).round() as i64;
        (minutes.div_euclid(1440), minutes.rem_euclid(1440))
    }

    /// The time on the clock face alone.
    pub fn clock(self) -> String {
        let (_, minute) = self.day_and_minute();
        let (h, m) = (minute / 60, minute % 60);
        match self.style {
            ClockStyle::TwentyFour => format!("{h:02}:{m:02}"),
            ClockStyle::TwelveHour => {
                let half = if h < 12 { "am" } else { "pm" };
                format!("{}:{m:02} {half}", (h + 11) % 12 + 1)
            }
        }
    }
}

impl FromStr for Moment {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let error = || {
            UnitError::new("a clock time", "write it like 18:30, 6:30 pm, day before 18:00 or next day 00:30")
        };
        let lower = text.trim().to_lowercase();
        let lower = match lower.strip_suffix("noon") {
            Some(day) => format!("{day}12:00"),
            None => match lower.strip_suffix("midnight") {
                Some(day) => format!("{day}24:00"),
                None => lower,
            },
        };
        let (day, clock) = [
            ("day before", -24.0),
            ("night before", -24.0),
            ("two days before", -48.0),
            ("next day", 24.0),
            ("day after", 24.0),
        ]
        .iter()
        .find_map(|(words, shift)| lower.strip_prefix(words).map(|rest| (*shift, rest.trim())))
        .or_else(|| {
            // As they are shown: "3 days before 18:00".
            let (n, rest, sign) = match (lower.split_once(" days before "), lower.split_once(" days later "))
            {
                (Some((n, rest)), _) => (n, rest, -24.0),
                (_, Some((n, rest))) => (n, rest, 24.0),
                _ => return None,
            };
            let days = n.parse::<u8>().ok().filter(|days| (2..=7).contains(days))?;
            Some((sign * f64::from(days), rest.trim()))
        })
        .unwrap_or((0.0, lower.as_str()));
        let (digits, half) = match clock.strip_suffix("pm") {
            Some(rest) => (rest.trim(), Some(12.0)),
            None => match clock.strip_suffix("am") {
                Some(rest) => (rest.trim(), Some(0.0)),
                None => (clock, None),
            },
        };
        let (h, m) = digits.split_once([':', '.']).unwrap_or((digits, "00"));
        let all_digits =
            |s: &str, most: usize| !s.is_empty() && s.len() <= most && s.chars().all(|c| c.is_ascii_digit());
        if !all_digits(h, 2) || m.len() != 2 || !all_digits(m, 2) {
            return Err(error());
        }
        let (h, m): (f64, f64) = (h.parse().map_err(|_| error())?, m.parse().map_err(|_| error())?);
        let (hour, style) = match half {
            Some(_) if !(1.0..=12.0).contains(&h) => return Err(error()),
            Some(half) => (h % 12.0 + half, ClockStyle::TwelveHour),
            None if h > 24.0 || (h == 24.0 && m > 0.0) => return Err(error()),
            None => (h, ClockStyle::TwentyFour),
        };
        if m >= 60.0 {
            return Err(error());
        }
        Ok(Moment { hours: day + hour + m / 60.0, style })
    }
}

impl Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let (day, _) = self.day_and_minute();
        match day {
            0 => write!(f, "{}", self.clock()),
            -1 => write!(f, "day before {}", self.clock()),
            1 => write!(f, "next day {}", self.clock()),
            d if d < 0 => write!(f, "{} days before {}", -d, self.clock()),
            d => write!(f, "{d} days later {}", self.clock()),
        }
    }
}

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
