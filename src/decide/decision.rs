//! What is decided for all orders together.

use super::offers::{Offer, model, offers, slots};
use super::options::PlacingOption;
use super::prospects::Prospects;
use super::solve::model::{Model, Slot, Solution};
use crate::event::{Event, OrderId};

/// What is offered for every order, and what is decided.
pub struct Decision {
    /// Time in which people can be on site.
    pub slots: Vec<Slot>,
    /// The offers for every order, by its number.
    pub offers: Vec<Vec<Offer>>,
    /// The optimisation model that was solved.
    pub model: Model,
    /// Its solution.
    pub solution: Solution,
}

impl Decision {
    /// The offer that was taken for an order.
    pub fn chosen(&self, id: OrderId) -> &Offer {
        &self.offers[id.index()][self.solution.chosen[id.index()]]
    }

    /// The hours for which people are paid.
    pub fn paid_hours(&self) -> f64 {
        self.solution.shifts.iter().map(|s| self.model.paid_hours(s)).sum()
    }
}

impl Prospects {
    /// The cheapest plan within what there is in `event`, or else the one nearest to it, out of the options that are
    /// `allowed` and within its access. `allowed` is asked with all options of the same order.
    pub fn decide(
        &self,
        event: &Event,
        allowed: impl Fn(&[PlacingOption], &PlacingOption) -> bool,
    ) -> Decision {
        let slots = slots(event);
        let offers: Vec<Vec<Offer>> = event
            .orders()
            .zip(&self.options)
            .map(|((_, piece, order), options)| {
                let open: Vec<usize> = (0..options.len()).filter(|i| within(event, &options[*i])).collect();
                let fine: Vec<usize> =
                    open.iter().copied().filter(|i| allowed(options, &options[*i])).collect();
                // An order for which nothing is allowed is done in another way, or else not at all.
                let open = match (fine.is_empty(), open.is_empty()) {
                    (false, _) => fine,
                    (true, false) => open,
                    (true, true) => (0..options.len()).collect(),
                };
                let some: Vec<PlacingOption> = open.iter().map(|i| options[*i].clone()).collect();
                let mut offers = offers(event, &slots, (piece, order), &some);
                offers.iter_mut().for_each(|o| o.first = open[o.first]);
                offers
            })
            .collect();
        let model = model(event, &slots, &offers);
        let solution = model.within_means().unwrap_or_else(|| model.at_a_stretch());
        Decision { slots, offers, model, solution }
    }
}

/// Whether an option can be had within the access of an event.
fn within(event: &Event, option: &PlacingOption) -> bool {
    event
        .access
        .iter()
        .any(|(a, b)| *a - 1e-9 <= option.place_at && option.place_at <= b.min(event.doors) + 1e-9)
}
