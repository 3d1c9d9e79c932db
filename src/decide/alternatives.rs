//! Alternative plans for the whole event, each solved in its own right: all dry, no vases, no tubes where vases can
//! stand, everything placed on the first access or in the last hours, the fewest hands, and one that bears a mishap.

use super::decision::Decision;
use super::options::{PlacingOption, wanted};
use super::prospects::Prospects;
use super::solve::model::Lacking;
use crate::event::{Event, OrderId, Way};
use crate::flower::treatment::Method;
use rayon::prelude::*;

/// The cost and consequences of an alternative plan for the whole event.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// What sets it apart from the others.
    pub way: Way,
    /// Flowers in whole bunches, wages, tubes, vases and vessels, in money.
    pub cost: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Paid hours, all people together, h.
    pub paid_hours: f64,
    /// How many tubes it uses.
    pub tubes: u32,
    /// How many vases it uses.
    pub vases: u32,
    /// The chance that the least sure of its orders keeps enough heads, 0 to 1.
    pub sure: f64,
    /// The orders that do not meet the target.
    pub fails: Vec<OrderId>,
    /// The people and stock that it would need beyond those there are.
    pub lacking: Lacking,
}

/// How many of the last hours of access [`Way::LastHours`] uses.
pub const LAST_HOURS: f64 = 2.0;
/// How much of each access [`Way::Calm`] leaves free at its end, h.
const LEFT_FREE: f64 = 0.5;

impl Way {
    /// Whether this kind of plan allows `method` for an order, `all` being the order's options.
    fn allows(self, all: &[PlacingOption], method: Method) -> bool {
        match self {
            Way::AllDry => method.is_dry() || method == Method::Vessel,
            Way::Tubes => method != Method::BudVase,
            Way::Vases => {
                method != Method::WaterTube || !all.iter().any(|o| o.treatment.method == Method::BudVase)
            }
            _ => true,
        }
    }

    /// The event within which a plan of this kind is made, given the most people that the plan has at one time; `None` if
    /// it would be no other than the plan.
    fn event(self, event: &Event, people: u32) -> Option<Event> {
        // Chores may be done at any time all the same.
        let placed_within = |(from, to): (f64, f64)| {
            let mut event = event.clone();
            for piece in &mut event.pieces {
                let own = piece.placed.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
                piece.placed = Some((own.0.max(from), own.1.min(to)));
            }
            event
        };
        match self {
            Way::Cheapest | Way::AllDry | Way::Tubes | Way::Vases => Some(event.clone()),
            Way::FirstAccess => match event.access[..] {
                [first, _, ..] => Some(placed_within(first)),
                _ => None,
            },
            Way::LastHours => {
                let (from, to) = *event.access.last()?;
                let begin = to.min(event.doors) - LAST_HOURS;
                let shorter = event.access.len() > 1 || begin > from + 1e-9;
                shorter.then(|| placed_within((begin.max(from), to)))
            }
            Way::FewestHands => {
                people.checked_sub(1).filter(|n| *n > 0).map(|fewer| with_people(event, fewer))
            }
            Way::Calm => {
                let shorter = event.access.iter().map(|(from, to)| (*from, to.min(event.doors) - LEFT_FREE));
                let access = shorter.filter(|(from, to)| from < to).collect();
                let mut calm = Event { access, ..event.clone() };
                if calm.access.is_empty() {
                    return None;
                }
                // All the work, done by one person fewer than come.
                let people = f64::from(people.max(2));
                calm.means.slack = (1.0 + calm.means.slack) * people / (people - 1.0) - 1.0;
                Some(calm)
            }
        }
    }
}

impl Alternative {
    /// Whether every order meets the target with the people and stock there are.
    pub fn works(&self) -> bool {
        self.fails.is_empty() && self.lacking.is_nothing()
    }

    /// The cost and consequences of a decision.
    pub(super) fn of(way: Way, prospects: &Prospects, decision: &Decision) -> Alternative {
        let event = &prospects.event;
        let (model, solution) = (&decision.model, &decision.solution);
        let uses = |thing: usize| -> u32 {
            model.jobs.iter().zip(&solution.chosen).map(|(job, c)| job[*c].uses[thing]).sum()
        };
        let vases = event.means.tubes.len();
        let sure = event.orders().zip(&prospects.options).map(|((id, _, order), options)| {
            let offer = decision.chosen(id);
            options[offer.first].sure_of(order.heads + offer.spares, wanted(order.heads, event.target_share))
        });
        Alternative {
            way,
            cost: solution.cost,
            people: decision.most_people(),
            paid_hours: decision.paid_hours(),
            tubes: (0..vases).map(uses).sum(),
            vases: uses(vases),
            sure: sure.fold(1.0, f64::min),
            fails: event.orders().map(|(id, ..)| id).filter(|id| !decision.chosen(*id).lasts).collect(),
            lacking: solution.lacking.clone(),
        }
    }
}

/// The alternatives to a plan, each with its decision. Where the plan's own `decision` is already one of a kind, it is also
/// the cheapest of that kind.
pub(super) fn alternatives(
    prospects: &Prospects,
    decision: &Decision,
) -> Vec<(Alternative, Option<Decision>)> {
    const WAYS: [Way; 7] =
        [Way::AllDry, Way::Tubes, Way::Vases, Way::FirstAccess, Way::LastHours, Way::FewestHands, Way::Calm];
    let one = |way: &Way| alternative(*way, prospects, decision);
    WAYS.par_iter().filter_map(one).collect()
}

/// One alternative to a plan, with its decision where that is not the plan's own; `None` where there is none.
pub(super) fn alternative(
    way: Way,
    prospects: &Prospects,
    decision: &Decision,
) -> Option<(Alternative, Option<Decision>)> {
    let own = || (Alternative::of(way, prospects, decision), None);
    if way == Way::Cheapest {
        return None;
    }
    if matches!(way, Way::AllDry | Way::Tubes | Way::Vases) && holds(way, prospects, decision) {
        return Some(own());
    }
    let event = way.event(&prospects.event, decision.most_people());
    if way == Way::FewestHands {
        let fewest = event.and_then(|fewer| fewest_hands(prospects, &fewer));
        return Some(fewest.map_or_else(own, |(alternative, decision)| (alternative, Some(decision))));
    }
    let decision = prospects.decide(&event?, |_, all, o| way.allows(all, o.treatment.method));
    Some((Alternative::of(way, prospects, &decision), Some(decision)))
}

/// Whether a decision uses only treatments that a kind of plan allows.
fn holds(way: Way, prospects: &Prospects, decision: &Decision) -> bool {
    let mut orders = prospects.event.orders().zip(&prospects.options);
    orders.all(|((id, ..), all)| way.allows(all, all[decision.chosen(id).first].treatment.method))
}

/// The event with so many people, and no more of them skilled.
fn with_people(event: &Event, people: u32) -> Event {
    let mut with = event.clone();
    (with.means.people, with.means.skilled) = (people, with.means.skilled.min(people));
    with
}

/// The plan with the fewest people that works, from the people of `fewer` downwards; `None` if even those are too few.
fn fewest_hands(prospects: &Prospects, fewer: &Event) -> Option<(Alternative, Decision)> {
    let mut found = None;
    let mut event = fewer.clone();
    loop {
        let decision = prospects.decide(&event, |_, _, _| true);
        let alternative = Alternative::of(Way::FewestHands, prospects, &decision);
        let people = alternative.people;
        if !alternative.works() {
            return found;
        }
        found = Some((alternative, decision));
        if people <= 1 {
            return found;
        }
        event = with_people(&event, people - 1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::options::tests::option;
    use crate::event::invented;

    fn event(access: &str) -> Event {
        let means = format!("[crew]\npeople = 4\nslack = \"25 %\"\n{access}");
        invented(&means, "[[piece.flower]]\nflower = \"rose\"\nheads = 40\n")
    }

    const ONCE: &str = "[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n";
    const TWICE: &str = "[[access]]\nfrom = \"day before 17:00\"\nto = \"day before 20:00\"\n[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n";

    /// Work for four, done by three: a quarter of slack becomes `1.25 * 4/3 - 1`; half an hour stays free at the end (by hand).
    #[test]
    fn a_calm_plan_bears_that_one_stays_at_home() {
        let calm = Way::Calm.event(&event(TWICE), 4).unwrap();
        assert!((calm.means.slack - 2.0 / 3.0).abs() < 1e-12, "{}", calm.means.slack);
        assert_eq!(calm.access, [(-7.0, -4.5), (9.0, 15.0)]);
        // One alone counts as two.
        let alone = Way::Calm.event(&event(ONCE), 1).unwrap();
        assert!((alone.means.slack - 1.5).abs() < 1e-12, "{}", alone.means.slack);
    }

    #[test]
    fn each_way_allows_what_its_name_says() {
        let option = |method: Method| option(method, 0.9);
        let without = [option(Method::Tucked), option(Method::WaterTube)];
        let with = [option(Method::Tucked), option(Method::WaterTube), option(Method::BudVase)];
        let allowed = |way: Way, all: &[PlacingOption]| Method::ALL.map(|method| way.allows(all, method));
        let each = |is: fn(Method) -> bool| Method::ALL.map(is);
        assert_eq!(allowed(Way::AllDry, &with), each(|m| m.is_dry() || m == Method::Vessel));
        assert_eq!(allowed(Way::Tubes, &with), each(|m| m != Method::BudVase));
        assert_eq!(allowed(Way::Vases, &with), each(|m| m != Method::WaterTube));
        assert_eq!(allowed(Way::Vases, &without), each(|_| true), "where no vase can stand, tubes may");
        assert_eq!(allowed(Way::Calm, &with), each(|_| true));
    }

    #[test]
    fn each_way_narrows_when_heads_are_placed_or_who_places_them() {
        let placed = |way: Way, access: &str| way.event(&event(access), 4).map(|e| e.pieces[0].placed);
        assert_eq!(placed(Way::FirstAccess, ONCE), None, "the first access is the only one");
        assert_eq!(placed(Way::FirstAccess, TWICE), Some(Some((-7.0, -4.0))));
        assert_eq!(placed(Way::LastHours, ONCE), Some(Some((13.5, 15.5))));
        assert_eq!(placed(Way::LastHours, TWICE), Some(Some((13.5, 15.5))));
        // Who has two hours or less has no others.
        for from in ["13:30", "14:00"] {
            assert_eq!(placed(Way::LastHours, &ONCE.replace("09:00", from)), None, "{from}");
        }
        assert_eq!(placed(Way::LastHours, &TWICE.replace("09:00", "14:00")), Some(Some((14.0, 15.5))));
        assert_eq!(placed(Way::AllDry, TWICE), Some(None));
        let people = |n: u32| Way::FewestHands.event(&event(ONCE), n).map(|e| e.means.people);
        assert_eq!((people(4), people(1)), (Some(3), None));
    }
}
