//! The style of the pictures: colours that differ in lightness as well as in hue, and dashes.

use crate::flower::treatment::Method;

/// A colour as red, green and blue.
pub type Colour = (u8, u8, u8);

/// The colour of the background.
pub const PAPER: Colour = (255, 255, 255);
/// The colour of main text.
pub const INK: Colour = (34, 38, 42);
/// The colour of secondary text and axes.
pub const SOFT: Colour = (105, 110, 115);
/// The colour of grid lines.
pub const FAINT: Colour = (226, 228, 230);

/// The colour of a method, distinct in grey and for colour-blind readers.
pub fn colour(method: Method) -> Colour {
    match method {
        Method::Tucked | Method::Wired => (190, 92, 38),
        Method::WaterTube => (38, 110, 168),
        Method::BudVase | Method::Vessel => (18, 62, 48),
    }
}

/// The dashes of a method, pixels on and off; `None` for a solid line.
pub fn dashes(method: Method) -> Option<(f64, f64)> {
    match method {
        Method::BudVase | Method::Vessel => None,
        Method::WaterTube => Some((12.0, 5.0)),
        Method::Tucked | Method::Wired => Some((4.0, 4.0)),
    }
}

/// The size of a title that says what a picture shows: a long one is set smaller, so that it stays on the sheet.
pub fn title_size(title: &str) -> f64 {
    (1_640.0 / title.chars().count() as f64).clamp(13.0, 21.0)
}
