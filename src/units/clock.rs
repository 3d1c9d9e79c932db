//! Spans of time, and times on the clock of the venue.

use super::read::UnitError;
use std::fmt::{self, Display};
use std::str::FromStr;

/// A span of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The span in hours.
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
        match lower.as_str() {
            "half an hour" | "half hour" => return Ok(Span { hours: 0.5 }),
            "an hour" | "one hour" => return Ok(Span { hours: 1.0 }),
            "quarter of an hour" | "a quarter of an hour" => return Ok(Span { hours: 0.25 }),
            _ => {}
        }
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
                "s" | "sec" | "secs" | "second" | "seconds" => 1.0 / 3600.0,
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
    /// The 24-hour clock, as in `18:30`.
    #[default]
    TwentyFour,
    /// The 12-hour clock, as in `6:30 pm`.
    TwelveHour,
}

/// A change of the clocks near the event, seen from noon of its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// When it is, h on the clock of the event's noon, from the midnight that begins the event's day.
    pub at: f64,
    /// How many hours more the clock shows on its far side.
    pub by: f64,
}

impl Turn {
    /// What the clock shows, h, when it is `hours` on the clock of the event's noon.
    fn shown(self, hours: f64) -> f64 {
        let beyond = if self.at < 12.0 { hours < self.at } else { hours >= self.at };
        if beyond { hours + self.by } else { hours }
    }
}

/// A time on the clock of the venue, in hours from the midnight that begins the event's day.
///
/// Hours pass as they do on the clock of the event's noon; where clocks change near the event ([`Turn`]), those on the
/// far side are read and shown as the clock has them there. `-6.0` is six in the evening of the day before; `24.5` is half past midnight at the end of the day.
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
    /// How it was written, and is shown.
    pub style: ClockStyle,
    /// The change of the clocks across which it is shown.
    pub turn: Option<Turn>,
}

impl Moment {
    /// A moment that many hours after the midnight that begins the event's day.
    pub fn at(hours: f64) -> Self {
        Moment { hours, style: ClockStyle::TwentyFour, turn: None }
    }

    /// The same moment, shown in `style`.
    pub fn shown_as(self, style: ClockStyle) -> Self {
        Moment { style, ..self }
    }

    /// A moment that was read off the clock, in the hours that pass; `None` for a time that the clock leaps over. Of an
    /// hour that the clock shows twice it is the first.
    ///
    /// ```
    /// use headwater::units::{Moment, Turn};
    /// // Clocks went forward at two in the night before the event: from six in the evening to noon it is 17 hours.
    /// let turn = Some(Turn { at: 3.0, by: -1.0 });
    /// let evening = "day before 18:00".parse::<Moment>().unwrap().read_on(turn).unwrap();
    /// assert_eq!(12.0 - evening.hours, 17.0);
    /// assert_eq!(evening.to_string(), "day before 18:00");
    /// assert!("02:30".parse::<Moment>().unwrap().read_on(turn).is_none());
    /// ```
    pub fn read_on(self, turn: Option<Turn>) -> Option<Self> {
        let Some(change) = turn else { return Some(self) };
        let is_shown = |hours: &f64| (change.shown(*hours) - self.hours).abs() < 1e-9;
        let hours =
            [self.hours, self.hours - change.by].into_iter().filter(is_shown).min_by(f64::total_cmp)?;
        Some(Moment { hours, turn, ..self })
    }

    /// The number of days from the event's day, negative before it, and the minutes since midnight of that day.
    pub fn day_and_minute(self) -> (i64, i64) {
        let shown = self.turn.map_or(self.hours, |turn| turn.shown(self.hours));
        let minutes = (shown * 60.0).round() as i64;
        (minutes.div_euclid(1440), minutes.rem_euclid(1440))
    }

    /// The time on the clock face, without the day.
    pub fn clock(self) -> String {
        let (_, minute) = self.day_and_minute();
        let (h, m) = (minute / 60, minute % 60);
        match self.style {
            ClockStyle::TwentyFour => format!("{h:02}:{m:02}"),
            ClockStyle::TwelveHour => {
                let half = if h < 12 { "am" } else { "pm" };
                // Nobody is sure what 12:00 pm is.
                if minute == 720 {
                    "noon".to_string()
                } else {
                    format!("{}:{m:02} {half}", (h + 11) % 12 + 1)
                }
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
        let lower = text.trim().to_lowercase().replace("p.m.", "pm").replace("a.m.", "am");
        let lower = lower.strip_prefix("the ").unwrap_or(&lower).to_string();
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
            ("evening before", -24.0),
            ("eve", -24.0),
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
        let (h, m) = match digits.split_once([':', '.', 'h']) {
            Some((h, "")) if digits.ends_with('h') => (h, "00"),
            Some((h, m)) => (h.trim(), m.trim()),
            // 1600, as on a run sheet.
            None if digits.len() == 4 && digits.is_ascii() => digits.split_at(2),
            None => (digits, "00"),
        };
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
        Ok(Moment { hours: day + hour + m / 60.0, style, turn: None })
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
