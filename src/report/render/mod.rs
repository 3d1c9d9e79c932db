//! Renderers of documents and facts: text for a terminal, HTML, PDF, comma-separated values, calendars and JSON.

pub mod calendar;
pub mod csv;
pub mod html;
pub mod json;
mod mark;
pub mod message;
pub mod pdf;
pub mod report;
pub mod schema;
pub mod take_along;
pub mod terminal;
