//! The demo events planned as a florist would plan them, other days, and stand-ins.
//!
//! What a florist would do is common practice, no source.

mod common;

use common::planned;
use headwater::decide::crew::Person;
use headwater::decide::otherwise::Change;
use headwater::decide::plan::{Choice, FlowerPlan, Grade, Plan};
use headwater::decide::swaps::{likest, stand_ins};
use headwater::decide::whatif::{Twist, levers, outcomes};
use headwater::flower::catalogue::{Catalogue, Kind};
use headwater::flower::treatment::Treatment::{self, WaterTube};
use headwater::stats::Band;
use std::sync::LazyLock;

macro_rules! demo {
    ($name:ident, $file:literal) => {
        static $name: LazyLock<Plan> =
            LazyLock::new(|| planned(include_str!(concat!("../reference-data/demo/", $file))));
    };
}

demo!(HARVEST, "harvest-supper.toml");
demo!(NIGHT, "night-before.toml");
demo!(HEAT, "heat-wave.toml");
demo!(HELPERS, "two-helpers.toml");

fn of<'a>(plan: &'a Plan, piece: &str, flower: &str) -> &'a FlowerPlan {
    let piece = plan.pieces.iter().find(|p| p.piece.name == piece).expect("a piece");
    piece.flowers.iter().find(|f| f.order.flower.id().starts_with(flower)).expect("a flower")
}

/// What holds of any plan.
fn sound(plan: &Plan) {
    let event = &plan.event;
    for piece in &plan.pieces {
        for flower in &piece.flowers {
            let (from, to) = flower.window;
            assert!(from <= to && to <= event.doors + 1e-9, "{}: {from} to {to}", piece.piece.name);
            assert!(flower.count.p05 <= flower.count.p50 && flower.count.p95 <= f64::from(flower.heads()));
            if flower.lasts {
                assert!(flower.count.p50 >= f64::from(flower.wanted()), "{:?}", flower.count);
            }
            let best = flower.runner_up.map_or(0.0, |r| r.dearer);
            assert!(best > -0.02, "the next best is cheaper by {best}");
        }
    }
    for flower in plan.flowers() {
        told_of_one_flower(plan, flower);
    }
    adds_up(plan);
    assert!(plan.rota.left < 0.1, "{} h of work found no time", plan.rota.left);
    for person in &plan.rota.people {
        assert!(
            event
                .access
                .iter()
                .any(|(a, b)| *a - 1e-9 <= person.from && person.to <= b.min(event.doors) + 1e-9)
        );
    }
    if plan.lacking.is_nothing() {
        let at = |t: f64| plan.rota.people.iter().filter(|p| p.from <= t && t < p.to).count() as u32;
        assert!(plan.rota.people.iter().all(|p| at(p.from) <= event.means.people));
    }
    // Greens of a piece are begun before its heads, so that these go into them.
    for (p, piece) in plan.pieces.iter().enumerate() {
        use headwater::decide::crew::Work;
        let begun = |o: usize| plan.rota.span(Work::Place(p, o)).map(|s| s.0);
        for (g, greens) in piece.flowers.iter().enumerate() {
            for (h, heads) in piece.flowers.iter().enumerate() {
                let green = |f: &FlowerPlan| f.order.flower.kind() == Kind::Foliage;
                if green(greens)
                    && !green(heads)
                    && greens.window.0 <= heads.window.0
                    && heads.lasts
                    && greens.lasts
                {
                    assert!(begun(g) <= begun(h), "{}: heads before greens", piece.piece.name);
                }
            }
        }
    }
}

/// What a plan tells of one flower agrees with itself.
fn told_of_one_flower(plan: &Plan, flower: &FlowerPlan) {
    let (choice, heads) = (flower.choice(), f64::from(flower.heads()));
    let middle = choice.share.p50 >= flower.target;
    let grade = match (flower.lasts, middle) {
        (true, _) => Grade::Fine,
        (false, true) => Grade::Borderline,
        (false, false) => Grade::Short,
    };
    assert_eq!(flower.grade(), grade);
    assert_eq!(flower.heads(), flower.order.heads + flower.spares);
    // The count is that of the choice; where a few heads more are kept at hand, no more than a quarter of all.
    assert_eq!(flower.count, choice.count_of(flower.heads()));
    assert!(f64::from(flower.repairs) <= (0.25 * heads).ceil());
    // What is known of a flower narrows what is told of it.
    let width = |b: Band| b.p95 - b.p05;
    assert!(width(flower.share_if_known) <= width(choice.share) + 0.05, "{:?}", flower.share_if_known);
    assert!(flower.count_if_known.p95 <= heads);
    // Causes are shares of all failures, the greatest first.
    let causes: Vec<f64> = flower.causes.iter().map(|c| c.1).collect();
    assert!(causes.is_empty() || (causes.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{causes:?}");
    assert!(causes.windows(2).all(|w| w[0] >= w[1]) && causes.iter().all(|c| *c > 0.0));
    // Other ways are other treatments; one passed over is cheaper, the next best is not.
    for rival in flower.passed_over.iter().chain(&flower.runner_up) {
        assert!(rival.way.treatment != choice.way.treatment && rival.hours > 0.0);
    }
    assert!(flower.passed_over.is_none_or(|r| r.dearer < 0.0), "{:?}", flower.passed_over);
    // A quarter of an hour apart from its placing to the end; at the piece's hour it passes through the choice.
    let curve = &flower.curves[0];
    assert!(curve.way == choice.way && curve.place_at == choice.place_at);
    for curve in &flower.curves {
        let (first, last) = (curve.points[0].0, curve.points[curve.points.len() - 1].0);
        assert!((first - curve.place_at).abs() < 1e-9 && plan.event.span().1 - last < 0.25);
        assert!(curve.points.windows(2).all(|w| (w[1].0 - w[0].0 - 0.25).abs() < 1e-9));
        assert!(curve.points.windows(2).all(|w| w[1].1.p50 <= w[0].1.p50 + 1e-9), "flowers do not come back");
    }
    let until = plan.pieces.iter().find(|p| p.flowers.iter().any(|f| std::ptr::eq(f, flower)));
    let until = until.expect("its piece").piece.until;
    if let Some((_, band)) = curve.points.iter().find(|p| (p.0 - until).abs() < 1e-9) {
        assert!((band.p50 - choice.share.p50).abs() < 0.02, "{band:?} {:?}", choice.share);
    }
    // A tube runs empty after it is placed; no other way has one.
    assert_eq!(flower.tube_empty.is_some(), choice.way.treatment == WaterTube);
    if let Some(first) = flower.tube_empty.and_then(|e| e.p05) {
        assert!(first > choice.place_at);
    }
    // Boxes are asked how long they may wait where a flower lasts, up to twelve hours.
    assert_eq!(flower.dry_wait.is_some(), flower.lasts);
    if let Some((wait, tried)) = flower.dry_wait {
        assert!([0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0].contains(&wait), "{wait}");
        assert!(wait < 12.0 || tried);
    }
}

/// Bill, crew and the comparison with other ways tell of the same plan.
fn adds_up(plan: &Plan) {
    let (event, bill, own) = (&plan.event, &plan.bill, &plan.others[0]);
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let of =
        |t: Treatment| -> u32 { bill.things.iter().filter(|s| s.treatment == t).map(|s| s.number).sum() };
    assert_eq!((own.tubes, own.vases), (of(WaterTube), of(Treatment::BudVase)));
    for thing in &bill.things {
        let price = match thing.treatment {
            WaterTube => event.means.tubes.iter().find(|t| t.ml == thing.tube_ml).expect("a size").price,
            _ => event.means.vase_price,
        };
        assert!(near(thing.cost, f64::from(thing.number) * price), "{thing:?}");
    }
    for line in &bill.lines {
        let stems = f64::from(line.stems + line.left_over);
        assert!(near(line.cost(), stems * line.stem_price), "{line:?}");
    }
    // People are paid for the time they are there, and for the shortest call at least.
    let there = |p: &Person| (p.to - p.from).max(event.means.minimum);
    assert!(
        near(bill.paid_hours, plan.rota.people.iter().map(there).sum())
            && near(own.paid_hours, bill.paid_hours)
    );
    assert!(near(bill.hands, event.means.hourly * bill.paid_hours));
    let at = |t: f64| plan.rota.people.iter().filter(|p| p.from <= t && t < p.to).count() as u32;
    assert_eq!(own.people, plan.rota.people.iter().map(|p| at(p.from)).max().unwrap_or(0));
    // Hands, tubes and vases, and the stems of spares are what it costs in the comparison.
    let spares = plan
        .flowers()
        .map(|f| f64::from(f.spares.div_ceil(f.order.flower.faces_per_stem())) * f.order.stem_price());
    assert!(near(own.cost, bill.hands + bill.material() + spares.sum::<f64>()), "{}", own.cost);
    let fails: Vec<usize> = plan.flowers().enumerate().filter(|(_, f)| !f.lasts).map(|(i, _)| i).collect();
    assert_eq!(own.fails, fails);
    // What the crew does is the work there is: flowers, chores, the last look over every head at 20 a minute.
    let done: f64 = plan.rota.people.iter().flat_map(|p| &p.stints).map(|s| s.to - s.from).sum();
    assert!(near(done + plan.rota.left, bill.work_hours));
    let heads: u32 = plan.flowers().map(|f| f.order.heads).sum();
    let look = f64::from(heads) / 20.0 / 60.0 * (1.0 + event.means.slack);
    let chores: f64 = event.means.chores.iter().map(|c| c.hours).sum();
    let flowers: f64 = plan.flowers().map(|f| f.hours).sum();
    assert!(near(bill.work_hours, flowers + chores + look), "{} {flowers} {chores} {look}", bill.work_hours);
    for flower in plan.flowers().filter(|f| f.choice().way.treatment.is_dry()) {
        let minutes = f64::from(flower.heads()) * flower.choice().way.treatment.minutes();
        assert!(near(flower.hours, minutes / 60.0 * (1.0 + event.means.slack)));
    }
    let mean_square = |f: &dyn Fn(&Choice) -> f64| {
        let all: Vec<f64> = plan.flowers().flat_map(|p| &p.choices).map(f).collect();
        all.iter().sum::<f64>() / all.len() as f64
    };
    assert!(near(plan.error().powi(2), mean_square(&|c| c.error * c.error)));
    assert!(mean_square(&|c| c.error) <= plan.error() + 1e-12);
}

#[test]
fn levers_are_sums_over_other_days() {
    let sum = |twist: Twist| outcomes(&HARVEST, twist).iter().map(|o| o.expected).sum::<f64>();
    let (base, levers) = levers(&HARVEST, |k| format!("{k} degrees"));
    assert!((base - sum(Twist::None)).abs() < 1e-9);
    assert!(levers.windows(2).all(|w| w[0].high - w[0].low >= w[1].high - w[1].low), "the strongest first");
    assert!(levers.iter().all(|l| l.low < base && base < l.high));
    for (name, worse, better) in [
        ("3 degrees hotter", Twist::Warmer(3.0), Twist::Warmer(-3.0)),
        ("15 points", Twist::Moister(-0.15), Twist::Moister(0.15)),
        ("the party", Twist::Late(1.0), Twist::Late(-1.0)),
        ("placing", Twist::PlacedEarlier(1.0), Twist::PlacedEarlier(-1.0)),
    ] {
        let lever = levers.iter().find(|l| l.name.contains(name)).unwrap_or_else(|| panic!("no {name}"));
        assert!((lever.low - sum(worse)).abs() < 1e-9 && (lever.high - sum(better)).abs() < 1e-9, "{name}");
    }
    // In the delivery of nineteen in twenty, and of one in twenty: heads times shares.
    for (outcome, flower) in outcomes(&HARVEST, Twist::None).iter().zip(HARVEST.flowers()) {
        let (choice, heads) = (flower.choice(), f64::from(flower.heads()));
        assert!((outcome.expected - heads * choice.expected).abs() < 1e-9);
        assert_eq!(outcome.delivery, (heads * choice.share.p05, heads * choice.share.p95));
        assert_eq!(outcome.lasts, flower.lasts);
    }
}

#[test]
fn placed_much_earlier_is_placed_when_the_doors_first_open() {
    let then = outcomes(&HARVEST, Twist::PlacedEarlier(500.0));
    let numbered = HARVEST.pieces.iter().flat_map(|p| p.flowers.iter().map(move |f| (&p.piece, f)));
    for (outcome, (piece, flower)) in then.iter().zip(numbered) {
        let (choice, first) = (flower.choice(), HARVEST.event.windows(piece)[0].0);
        if choice.top_up.is_none() {
            let tried = flower.of(choice.way).find(|c| c.place_at == first).expect("tried at first");
            assert!((outcome.expected - f64::from(flower.heads()) * tried.expected).abs() < 1e-9);
        }
    }
    assert_eq!(then, outcomes(&HARVEST, Twist::PlacedEarlier(400.0)));
}

#[test]
fn the_harvest_supper_can_be_done() {
    sound(&HARVEST);
    assert!(HARVEST.lasts() && HARVEST.remedies.is_empty());
    for dahlia in ["guest table runners", "head table garland"] {
        assert!(!of(&HARVEST, dahlia, "dahlia").choice().way.treatment.is_dry());
    }
    assert!(of(&HARVEST, "guest table runners", "italian-ruscus").choice().way.treatment.is_dry());
    assert!(HARVEST.others.iter().filter(|o| o.works()).all(|o| o.cost >= HARVEST.others[0].cost * 0.99));
}

#[test]
fn the_night_before_everything_that_wilts_stands_in_water() {
    sound(&NIGHT);
    for flower in ["rose", "ranunculus"] {
        assert!(!of(&NIGHT, "long tables", flower).choice().way.treatment.is_dry(), "{flower}");
    }
    assert!(of(&NIGHT, "chimney piece", "statice").choice().way.treatment.is_dry());
    // A standard look: two sprigs to the foot, over 24 m (78.7 feet).
    assert_eq!(of(&NIGHT, "long tables", "italian-ruscus").order.heads, 158);
    assert!(!NIGHT.lasts(), "dry eucalyptus from the night before, in heated air");
    assert!(NIGHT.remedies.iter().any(|r| matches!(r.change, Change::Water(_))), "{:?}", NIGHT.remedies);
}

#[test]
fn an_arch_in_the_heat_wants_shade() {
    sound(&HEAT);
    assert!(!HEAT.lasts());
    assert!(!of(&HEAT, "ceremony arch", "rose").lasts && of(&HEAT, "dinner tables", "rose").lasts);
    assert!(HEAT.remedies.iter().any(|r| matches!(r.change, Change::Shade)), "{:?}", HEAT.remedies);
}

#[test]
fn two_friends_and_hardly_any_money_are_enough() {
    sound(&HELPERS);
    assert!(HELPERS.lasts());
    assert!(HELPERS.bill.hands == 0.0 && HELPERS.bill.material() < 15.0, "{}", HELPERS.bill.total());
    let tubes: u32 = HELPERS.bill.things.iter().filter(|t| t.treatment == WaterTube).map(|t| t.number).sum();
    assert!(tubes <= 45, "{tubes}");
    let wired = of(&HELPERS, "buttonholes", "rose-spray");
    assert!(wired.window.0 >= 9.0, "not before the florist's own limit");
}

#[test]
fn a_worse_day_never_keeps_more() {
    let sum = |twist: Twist| outcomes(&HARVEST, twist).iter().map(|o| o.expected).sum::<f64>();
    let planned = sum(Twist::None);
    for (worse, better) in [
        (Twist::Warmer(3.0), Twist::Warmer(-3.0)),
        (Twist::Moister(-0.15), Twist::Moister(0.15)),
        (Twist::Late(1.0), Twist::Late(-1.0)),
        (Twist::PlacedEarlier(2.0), Twist::PlacedEarlier(-1.0)),
    ] {
        assert!(
            sum(worse) < planned && planned < sum(better),
            "{worse:?}: {} {planned} {}",
            sum(worse),
            sum(better)
        );
    }
    assert!(sum(Twist::Warmer(5.0)) < sum(Twist::Warmer(3.0)));
    // Nothing here is cooled: nothing happens when cooling fails.
    assert_eq!(sum(Twist::CoolingFails(16.0)), planned);
    let cooled = |twist: Twist| outcomes(&HEAT, twist)[4].expected;
    assert!(cooled(Twist::CoolingFails(15.0)) < cooled(Twist::None), "the hall of the heat wave is cooled");
    // The plan's own numbers come back on the day it was made for.
    for (outcome, flower) in outcomes(&HARVEST, Twist::None).iter().zip(HARVEST.flowers()) {
        assert_eq!(outcome.count, flower.count);
    }
}

#[test]
fn stand_ins_are_like_and_last() {
    let find = |name: &str| Catalogue::shipped().find(name).expect("a flower");
    let month = 8;
    let like: Vec<&str> = likest(find("dahlia"), month, None, 12).iter().map(|(f, _)| f.id()).collect();
    assert!(like.iter().any(|id| id.contains("chrysanthemum")), "{like:?}");
    for (flower, likeness) in likest(find("hydrangea"), month, None, 40) {
        assert!(flower.kind() == Kind::Flower && flower.id() != find("hydrangea").id());
        assert!((0.0..=1.0).contains(&likeness.score));
    }
    let piece = &HARVEST.event.pieces[2];
    let spaces: Vec<_> = HARVEST.event.spaces.iter().map(|s| s.climate.clone()).collect();
    let found = stand_ins(&HARVEST.event, (piece, &piece.orders[0]), &spaces, None, (1, 128), 8);
    assert_eq!(found[0].flower.id(), piece.orders[0].flower.id(), "the flower itself comes first");
    let trouble: Vec<u8> = found[1..].iter().map(|s| s.lasts.map_or(9, |(w, _)| w.treatment as u8)).collect();
    assert!(trouble.windows(2).all(|w| w[0] <= w[1]), "{trouble:?}");
    assert!(found[1..].iter().any(|s| s.lasts.is_some_and(|(w, _)| w.treatment.is_dry())));
}
