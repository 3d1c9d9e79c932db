//! Flowers: what is known of each ([`catalogue`]), what the trade offers ([`trade`]), how lots and heads differ
//! ([`population`]), and what a florist can do with one ([`treatment`]).

pub mod catalogue;
pub mod learned;
pub mod loss;
mod naming;
pub mod population;
pub mod spread;
pub mod trade;
pub mod treatment;
