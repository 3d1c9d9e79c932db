//! What is told of a plan, and the forms it takes. Every form is bytes; nothing here writes files or prints.
//!
//! [`facts`] alone reads a plan. [`words`] and [`advice`] make English of facts, [`sections`] and [`papers`] make documents
//! of words, [`pictures`] draw facts, and [`render`] turns documents and facts into text, HTML, PDF, CSV, calendars and
//! JSON.

pub mod advice;
pub mod cautions;
pub mod clock;
pub mod crew;
pub mod days;
pub mod document;
pub mod facts;
pub mod learned_words;
pub mod learning;
pub mod lesson;
pub mod money;
pub mod papers;
pub mod pictures;
pub mod protocol;
pub mod render;
pub mod sections;
pub mod trials;
pub mod validation;
pub mod validation_words;
pub mod words;
