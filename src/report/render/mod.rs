//! Documents and facts as bytes: text for a terminal, HTML, PDF, comma-separated values, a calendar, JSON.

pub mod calendar;
pub mod csv;
pub mod html;
pub mod json;
pub mod pdf;
pub mod schema;
pub mod take_along;
pub mod terminal;
