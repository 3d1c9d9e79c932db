//! The decision for all orders together: the cheapest combination of offers.

use super::offers::{Offer, model, offers, slots};
use super::options::PlacingOption;
use super::prospects::Prospects;
use super::solve::model::{Model, Slot, Solution};
use crate::event::{Event, OrderId};

/// The offers for every order, and the ones that were taken.
pub struct Decision {
    /// The time in which people can be on site, cut into slots.
    pub slots: Vec<Slot>,
    /// The offers, by order number.
    pub offers: Vec<Vec<Offer>>,
    /// The optimisation model that was solved.
    pub model: Model,
    /// The solution of that model.
    pub solution: Solution,
}

impl Decision {
    /// The offer that was taken for an order.
    ///
    /// # Panics
    /// If `id` belongs to another event with more orders.
    pub fn chosen(&self, id: OrderId) -> &Offer {
        &self.offers[id.index()][self.solution.chosen[id.index()]]
    }

    /// Paid hours, all people together, h.
    pub fn paid_hours(&self) -> f64 {
        self.solution.shifts.iter().map(|s| self.model.paid_hours(s)).sum()
    }
}

impl Prospects {
    /// The cheapest decision that `event` has the people and stock for or, if there is none, the one that lacks least.
    ///
    /// Only options within the event's access for which `allowed` holds are considered; `allowed` is called with all
    /// options of the order and the option in question. An order left with no option may use any within access or, if
    /// there is none either, any at all.
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
                // An order with no allowed option falls back on those within access, then on all.
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

/// Whether an option is placed within the access of an event, before the doors open.
fn within(event: &Event, option: &PlacingOption) -> bool {
    event
        .access
        .iter()
        .any(|(a, b)| *a - 1e-9 <= option.place_at && option.place_at <= b.min(event.doors) + 1e-9)
}
