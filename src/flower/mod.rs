//! Flowers: what is known of each ([`catalogue`]), what the trade offers ([`trade`]), how their lots and heads differ
//! ([`support`], [`population`], with the distributions of [`spread`]), how they lose water ([`loss`]), what a florist can do with one
//! ([`treatment`]), and what trials have taught about one ([`learned`]).

pub mod boxes;
pub mod catalogue;
pub mod learned;
pub mod lookalikes;
pub mod loss;
mod naming;
pub mod population;
pub mod spread;
pub mod statements;
pub mod support;
pub mod trade;
pub mod treatment;
