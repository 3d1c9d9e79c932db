//! Temperatures, in the scale in which they were written.

use super::read::{UnitError, number_and_unit, short};
use std::fmt::{self, Display};
use std::str::FromStr;

/// The temperature scale that the user wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// Written in degrees Celsius.
    #[default]
    Celsius,
    /// Written in degrees Fahrenheit.
    Fahrenheit,
}

/// A temperature of air or water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperature {
    /// The temperature in degrees Celsius.
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
        let unit = if matches!(unit.as_str(), "deg" | "degrees") { "" } else { &unit };
        let (celsius, scale) = match unit {
            "c" | "celsius" | "centigrade" | "degc" | "degreesc" | "degreescelsius" => {
                (number, Scale::Celsius)
            }
            "f" | "fahrenheit" | "degf" | "degreesf" | "degreesfahrenheit" => {
                ((number - 32.0) / 1.8, Scale::Fahrenheit)
            }
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
    /// The difference in kelvin.
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
