//! Writes a plan as JSON for other programs.

use super::report::{
    AssignmentReport, BuyReport, CauseReport, Cost, CurveReport, DayReport, DaysReport, FlowerReport,
    LearnedReport, Mark, OptionReport, OtherReport, PersonReport, PieceReport, PointReport, Recommended,
    Report, RuleReport, ScoreReport, Simulation, Target,
};
use crate::decide::alternatives::Alternative;
use crate::decide::bill::Line;
use crate::decide::curve::Curve;
use crate::decide::options::PlacingOption;
use crate::decide::possible::OnDays;
use crate::decide::rule::{Rule, Score};
use crate::event::{Event, Order, Piece};
use crate::flower::learned::Learned;
use crate::report::advice::{advice, dry_hours};
use crate::report::clock::{day_and_clock, iso};
use crate::report::facts::{AssignmentFacts, DayFacts, Facts, OrderFacts, PersonFacts};
use crate::report::sections::air;
use crate::report::words::{called, heading, path};
use crate::report::{cautions, crew, days, eve, learning, money};
use crate::stats::Band;
use serde::Serialize;

/// A plan as JSON.
pub fn plan(facts: &Facts) -> String {
    serde_json::to_string_pretty(&Report::of(facts)).expect("a report is plain data")
}

/// How every order of a plan fares in some scenarios, as JSON.
pub fn days(facts: &Facts, days: &[DayFacts]) -> String {
    let rows = days.iter().flat_map(|day| {
        facts.orders.iter().zip(&day.outcomes).map(|(order, outcome)| OutcomeReport {
            piece: order.piece.name.clone(),
            flower: order.order.flower_name().to_string(),
            day: days::title(facts.event, day.scenario),
            heads: order.heads,
            presentable: outcome.count,
            lasts: outcome.lasts,
        })
    });
    serde_json::to_string_pretty(&rows.collect::<Vec<_>>()).expect("a report is plain data")
}

/// One order in one scenario.
#[derive(Debug, Clone, Serialize)]
struct OutcomeReport {
    piece: String,
    flower: String,
    #[serde(rename = "if")]
    day: String,
    heads: u32,
    presentable: Band,
    lasts: bool,
}

impl Report {
    /// The report of the facts of a plan.
    pub fn of(facts: &Facts) -> Report {
        let event = facts.event;
        Report {
            event: event.name.clone(),
            place: event.place.clone(),
            heading: heading(event, facts.hotter),
            date: event.date.to_string(),
            doors: iso(event, event.doors),
            end: iso(event, event.end),
            marks: event
                .marks
                .iter()
                .map(|(name, at)| Mark { name: name.clone(), at: iso(event, *at) })
                .collect(),
            lasts: facts.lasts,
            target: Target { presentable: event.target_share, assurance: event.assurance },
            simulation: Simulation {
                seed: facts.simulation.seed,
                lots: facts.simulation.lots,
                heads_per_lot: facts.simulation.heads_per_lot,
                error: facts.simulation.error,
            },
            pieces: facts.pieces().map(|(piece, orders)| piece_report(event, piece, orders)).collect(),
            lacking: money::lacking(event, facts.lacking),
            remedies: facts.remedies.iter().map(|r| money::remedy(facts, r)).collect(),
            others: facts.alternatives.iter().map(|a| other(facts, a)).collect(),
            crew: facts.people.iter().map(|p| person(facts, p)).collect(),
            buy: facts.bill.lines.iter().map(buy).collect(),
            cost: Cost {
                currency: event.means.currency.sign.clone(),
                flowers: facts.bill.flowers(),
                material: facts.bill.material(),
                hands: facts.bill.hands,
                total: facts.bill.total(),
                gap: facts.gap,
            },
            days: facts.on_days.map(|days| on_days(facts, days)),
            rule: facts.rule.map(|found| rule(facts, found)),
            spaces: air(event),
            assumptions: event.assumptions.clone(),
            cautions: cautions::of(facts),
        }
    }
}

fn on_days(facts: &Facts, days: &OnDays) -> DaysReport {
    let met = days.days.iter().map(|d| &facts.event.met[*d]);
    let each = met.zip(&days.least_sure).zip(&days.lasts);
    DaysReport {
        words: eve::days_sentence(facts).unwrap_or_default(),
        share: days.share,
        error: days.error,
        fails_above_c: days.fails_above,
        days: each
            .map(|((met, sure), lasts)| DayReport {
                name: met.name.clone(),
                year: met.year,
                high_c: met.high_c,
                sure: *sure,
                lasts: *lasts,
            })
            .collect(),
    }
}

fn rule(facts: &Facts, rule: &Rule) -> RuleReport {
    let score = |s: &Score| ScoreReport { cost: s.cost, sure: s.sure };
    let [fixed, with_rule, knowing] = rule.found.each_ref().map(score);
    let words =
        eve::rule_points(facts).map_or(Vec::new(), |(heading, points)| [vec![heading], points].concat());
    RuleReport {
        words,
        above_c: rule.above_c,
        hot_share: rule.hot_share,
        fixed,
        with_rule,
        knowing,
        left_out: rule.left_out.as_ref().map(|both| both.each_ref().map(score)),
    }
}

fn piece_report(event: &Event, piece: &Piece, orders: &[OrderFacts]) -> PieceReport {
    PieceReport {
        name: piece.name.clone(),
        count: piece.count,
        vessel: piece.vessel.as_ref().map(|v| v.name.clone()),
        space: path(event, piece),
        until: iso(event, piece.until),
        flowers: orders.iter().map(|order| flower(event, order)).collect(),
    }
}

fn flower(event: &Event, order: &OrderFacts) -> FlowerReport {
    let flower = order.flower();
    FlowerReport {
        flower: order.order.flower_name().to_string(),
        botanical: flower.botanical().to_string(),
        counts: order.order.counts,
        heads: order.order.heads,
        stems: order.stems(),
        bunches: order.bunches(),
        recommended: recommended(event, order),
        advice: advice(event, order),
        options: order.options.iter().map(|o| option(event, o)).collect(),
        causes: order.causes.iter().map(|&(cause, share)| CauseReport { cause, share }).collect(),
        dry_hours: dry_hours(order.order),
        learned: learned(order.order),
        curves: order.curves.iter().map(|c| curve(event, c)).collect(),
    }
}

fn recommended(event: &Event, order: &OrderFacts) -> Recommended {
    let option = order.recommended();
    Recommended {
        treatment: option.treatment,
        top_up_at: option.top_up.map(|at| iso(event, at)),
        heads_placed: order.heads,
        heads_for_repairs: order.repairs,
        place_at: iso(event, option.place_at),
        place_by: iso(event, order.window.1),
        lasts: order.lasts(),
        sure: order.sure,
        grade: order.grade,
        presentable: option.share,
        presentable_if_flower_known: order.share_if_known,
        heads_presentable: order.count,
        boxes_may_wait_dry_hours: order.dry_wait.map(|w| w.hours),
        mass_lost: order.water.lost,
        mass_lost_if_dry: order.water.lost_dry,
        drinks_g_per_hour: order.water.drinks_g_per_hour,
        comes_back_within_hours: order.water.comes_back_within,
    }
}

fn option(event: &Event, option: &PlacingOption) -> OptionReport {
    OptionReport {
        treatment: option.treatment,
        top_up_at: option.top_up.map(|at| iso(event, at)),
        place_at: iso(event, option.place_at),
        presentable: option.share,
        expected: option.expected,
        error: option.error,
        heads_presentable: option.count,
        assurance: option.assurance,
    }
}

fn learned(order: &Order) -> Option<LearnedReport> {
    let known = order.handling.learned.filter(|_| order.handling.own_dry_hours.is_none())?;
    let table = Learned::nothing(order.flower);
    Some(LearnedReport {
        trials: known.trials,
        events: known.events,
        of_this_delivery: known.of_this_lot,
        middle_head_hours: learning::next(&known, order.flower),
        middle_head_hours_of_the_table: learning::next(&table, order.flower),
    })
}

fn curve(event: &Event, curve: &Curve) -> CurveReport {
    let points = curve.points.iter();
    CurveReport {
        treatment: curve.treatment,
        place_at: iso(event, curve.place_at),
        points: points.map(|(h, band)| PointReport { at: iso(event, *h), presentable: *band }).collect(),
    }
}

fn person(facts: &Facts, person: &PersonFacts) -> PersonReport {
    PersonReport {
        name: crew::name(person),
        skilled: person.trained,
        from: day_and_clock(facts.event, person.from),
        to: facts.event.moment(person.to).clock(),
        assignments: person.assignments.iter().map(|a| assignment(facts, a)).collect(),
    }
}

fn assignment(facts: &Facts, assignment: &AssignmentFacts) -> AssignmentReport {
    AssignmentReport {
        from: facts.event.moment(assignment.from).clock(),
        to: facts.event.moment(assignment.to).clock(),
        what: crew::work(facts, assignment),
    }
}

fn buy(line: &Line) -> BuyReport {
    BuyReport {
        what: called(&line.sort),
        in_pieces: line.heads,
        spares: line.spares,
        repairs: line.repairs,
        breakage: line.breakage,
        stems: line.stems,
        stems_per_bunch: line.sort.flower.stems_per_bunch(),
        bunches: line.bunches,
        left_over: line.left_over,
        cost: line.cost(),
        own_price: line.own_price,
    }
}

fn other(facts: &Facts, alternative: &Alternative) -> OtherReport {
    OtherReport {
        name: money::alternative(alternative.way).to_string(),
        works: alternative.works(),
        cost: alternative.cost,
        sure: alternative.sure,
        people: alternative.people,
        paid_hours: alternative.paid_hours,
        tubes: alternative.tubes,
        vases: alternative.vases,
        but: money::obstacle(facts, alternative),
    }
}
