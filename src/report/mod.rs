//! Reports of a plan in all their forms. Every form is text or bytes; nothing here writes files or prints.
//!
//! Only [`facts`] reads a plan. [`words`] and [`advice`] put facts into English, [`sections`] and [`papers`] arrange
//! them in documents, [`pictures`] draw them, and [`render`] turns documents and facts into text, HTML, PDF, CSV,
//! calendars and JSON.

pub mod advice;
pub mod cautions;
pub mod clock;
pub mod comparison;
pub mod crew;
pub mod days;
pub mod document;
pub mod eve;
pub mod facts;
pub mod learned_words;
pub mod learning;
pub mod lesson;
pub mod limits;
pub mod money;
pub mod next_trial;
pub mod order;
pub mod papers;
pub mod pictures;
pub mod protocol;
pub mod render;
pub mod scores;
pub mod sections;
pub mod support;
pub mod trials;
pub mod validation;
pub mod validation_words;
pub mod wall;
pub mod words;
