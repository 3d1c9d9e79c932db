//! Quantities with one number in SI units, and lengths.

use super::read::{UnitError, number_and_unit, short};
use std::fmt::{self, Display};
use std::str::FromStr;

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
    Humidity, percent, "The share in percent.", "a relative humidity from 1 to 100 %", "65 or 65 %",
    1.0..=100.0, ["" => 1.0, "%" => 1.0, "%rh" => 1.0, "rh" => 1.0, "percent" => 1.0], shown "%"
);
quantity!(
    /// Speed of the air past the flower.
    AirSpeed, metres_per_second, "The speed in metres per second.", "an air speed from 0 to 30 m/s", "0.1, 0.5 m/s or 3 mph",
    0.0..=30.0, ["" => 1.0, "m/s" => 1.0, "mph" => 0.44704, "km/h" => 1.0 / 3.6, "kph" => 1.0 / 3.6, "ft/min" => 0.00508], shown "m/s"
);
quantity!(
    /// Sunshine on a level surface.
    Sunshine, watts_per_square_metre, "The irradiance in watts per square metre.", "sunshine on a level surface from 0 to 1400 W/m2",
    "800 (full summer sun) or 0 (shade)", 0.0..=1400.0, ["" => 1.0, "w/m2" => 1.0, "w/m²" => 1.0], shown "W/m2"
);
quantity!(
    /// The height above the sea.
    Altitude, metres, "The height in metres.", "a height above the sea from -400 to 4500 m", "120 m or 400 ft",
    -400.0..=4500.0, ["" => 1.0, "m" => 1.0, "ft" => 0.3048], shown "m"
);
quantity!(
    /// A volume of water in a tube or vase.
    Volume, millilitres, "The volume in millilitres.", "a volume of water from 0.5 to 2000 ml", "10 ml or 0.5 oz",
    0.5..=2000.0, ["ml" => 1.0, "" => 1.0, "cc" => 1.0, "l" => 1000.0, "oz" => 29.5735, "floz" => 29.5735], shown "ml"
);
quantity!(
    /// The water in a vessel that holds many stems.
    VesselWater, millilitres, "The volume in millilitres.", "the water in a vessel from 20 ml to 50 l", "1.2 l or 40 oz",
    20.0..=50_000.0, ["l" => 1000.0, "ml" => 1.0, "" => 1.0, "cc" => 1.0, "oz" => 29.5735, "floz" => 29.5735, "qt" => 946.353, "pt" => 473.176], shown "ml"
);
quantity!(
    /// An allowance on top of an amount, as a share of it.
    Allowance, percent, "The share in percent.", "an allowance from 0 to 200 %", "25 %",
    0.0..=200.0, ["%" => 1.0, "" => 1.0, "percent" => 1.0], shown "%"
);
quantity!(
    /// The area of a floor.
    Area, square_metres, "The area in square metres.", "a floor area from 4 to 50000 m2", "200 m2 or 2000 sq ft",
    4.0..=50_000.0, ["m2" => 1.0, "m²" => 1.0, "sqm" => 1.0, "ft2" => 0.092_903_04, "ft²" => 0.092_903_04, "sqft" => 0.092_903_04], shown "m2"
);
quantity!(
    /// The volume of a room.
    RoomVolume, cubic_metres, "The volume in cubic metres.", "the volume of a room from 10 to 1000000 m3", "1000 m3 or 35000 cu ft",
    10.0..=1e6, ["m3" => 1.0, "m³" => 1.0, "ft3" => 0.028_316_846_592, "ft³" => 0.028_316_846_592, "cuft" => 0.028_316_846_592], shown "m3"
);
quantity!(
    /// How often the air of a room is exchanged.
    AirChanges, per_hour, "The number of changes in an hour.", "air changes an hour from 0.1 to 200", "4 or 4 an hour",
    0.1..=200.0, ["" => 1.0, "/h" => 1.0, "anhour" => 1.0, "perhour" => 1.0], shown "an hour"
);
quantity!(
    /// A share of the heads of a piece.
    Share, percent, "The share in percent.", "a share from 1 to 100 %", "95 %",
    1.0..=100.0, ["%" => 1.0, "" => 1.0, "percent" => 1.0], shown "%"
);

/// A length of garland, or the reach of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    /// The length in metres.
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
        let metres = |text: &str| {
            let (number, unit) = number_and_unit(text)?;
            let factor = match unit.as_str() {
                "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
                "cm" => 0.01,
                "ft" | "foot" | "feet" | "'" => 0.3048,
                "in" | "inch" | "inches" | "\"" => 0.0254,
                _ => return None,
            };
            Some(number * factor)
        };
        let metres = match feet_and_inches(text) {
            Some((feet, inches)) => metres(&format!("{feet} ft")).zip(metres(inches)).map(|(a, b)| a + b),
            None => metres(text),
        };
        let metres = metres.ok_or_else(error)?;
        if metres > 0.0 && metres <= 2000.0 {
            Ok(Length { metres, written: text.trim().to_string() })
        } else {
            Err(error())
        }
    }
}

/// The two parts of a length such as 7 ft 6 in; `None` where it has not both.
fn feet_and_inches(text: &str) -> Option<(&str, &str)> {
    let parts = ["feet", "foot", "ft", "'"].iter().find_map(|unit| text.split_once(unit))?;
    let is_inches = |text: &str| ["in", "inch", "inches", "\""].iter().any(|unit| text.ends_with(unit));
    is_inches(parts.1.trim()).then_some(parts)
}

impl Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.written)
    }
}
