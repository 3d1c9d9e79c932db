//! What a plan tells in one place agrees with what it tells in others.

use headwater::decide::options::{PlacingOption, times_tried};
use headwater::decide::order::{Grade, OrderPlan};
use headwater::decide::plan::Plan;
use headwater::decide::work::{Person, Work};
use headwater::event::OrderId;
use headwater::flower::treatment::Method::{self, WaterTube};

/// Holds of any plan.
pub fn agrees(plan: &Plan) {
    for flower in plan.orders.iter() {
        told_of_one_flower(plan, flower);
    }
    adds_up(plan);
}

/// What a plan tells of one flower agrees with itself.
fn told_of_one_flower(plan: &Plan, flower: &OrderPlan) {
    let (option, heads) = (flower.recommended(), f64::from(flower.heads));
    let middle = option.share.p50 >= plan.event.target_share;
    let grade = match (flower.lasts(), middle) {
        (true, _) => Grade::Fine,
        (false, true) => Grade::Borderline,
        (false, false) => Grade::Short,
    };
    assert_eq!(flower.grade, grade);
    assert_eq!(flower.heads, plan.event.order(flower.id).1.heads + flower.spares);
    // The count is that of the choice; where a few heads more are kept at hand, no more than a quarter of all.
    assert_eq!(flower.count, option.count_of(flower.heads));
    assert!(f64::from(flower.repairs) <= (0.25 * heads).ceil());
    assert!(flower.count_if_known.p95 <= heads);
    // Causes are shares of all failures, the greatest first.
    let causes: Vec<f64> = flower.causes.iter().map(|c| c.1).collect();
    assert!(!causes.is_empty() || option.expected > 1.0 - 1e-9, "something fails, of no cause");
    assert!(causes.is_empty() || (causes.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{causes:?}");
    assert!(causes.windows(2).all(|w| w[0] >= w[1]) && causes.iter().all(|c| *c > 0.0));
    // Other ways are other treatments; one passed over is cheaper, the next best is not.
    for rival in flower.passed_over.iter().chain(&flower.runner_up) {
        assert!(rival.treatment.method != option.treatment.method && rival.hours > 0.0);
    }
    assert!(flower.passed_over.is_none_or(|r| r.dearer < 0.0), "{:?}", flower.passed_over);
    // A quarter of an hour apart from its placing to the end; at the piece's hour it passes through the choice.
    let curve = &flower.curves[0];
    assert!(curve.treatment == option.treatment && curve.place_at == option.place_at);
    for curve in &flower.curves {
        let (first, last) = (curve.points[0].0, curve.points[curve.points.len() - 1].0);
        assert!((first - curve.place_at).abs() < 1e-9 && plan.event.span().1 - last < 0.25);
        assert!(curve.points.windows(2).all(|w| (w[1].0 - w[0].0 - 0.25).abs() < 1e-9));
        assert!(curve.points.windows(2).all(|w| w[1].1.p50 <= w[0].1.p50 + 1e-9), "flowers do not come back");
    }
    // Dry at its first and its last time, in water when the choice is placed: each is shown once.
    let times = times_tried(&flower.options);
    for &method in &plan.event.order(flower.id).1.methods {
        let ats =
            if method.is_dry() { vec![times[0], times[times.len() - 1]] } else { vec![option.place_at] };
        for at in ats {
            let shown = flower.curves.iter().filter(|c| c.treatment.method == method && c.place_at == at);
            assert_eq!(shown.count(), 1, "{method} at {at} h");
        }
    }
    let until = plan.event.order(flower.id).0.until;
    if let Some((_, band)) = curve.points.iter().find(|p| (p.0 - until).abs() < 1e-9) {
        assert!((band.p50 - option.share.p50).abs() < 0.02, "{band:?} {:?}", option.share);
    }
    // A tube runs empty after it is placed; no other way has one.
    assert_eq!(flower.tube_empty.is_some(), option.treatment.method == WaterTube);
    if let Some(first) = flower.tube_empty.as_ref().and_then(|e| e.p05) {
        assert!(first > option.place_at);
    }
    // Boxes are asked how long they may wait where a flower lasts, up to twelve hours.
    assert_eq!(flower.dry_wait.is_some(), flower.lasts());
    if let Some(wait) = flower.dry_wait {
        assert!([0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0].contains(&wait.hours), "{wait:?}");
        assert!(wait.hours < 12.0 || wait.untried_beyond);
    }
}

/// Bill, crew and the comparison with other ways tell of the same plan.
fn adds_up(plan: &Plan) {
    let (event, bill, own) = (&plan.event, &plan.bill, &plan.alternatives[0]);
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let of =
        |t: Method| -> u32 { bill.things.iter().filter(|s| s.treatment.method == t).map(|s| s.number).sum() };
    assert_eq!((own.tubes, own.vases), (of(WaterTube), of(Method::BudVase)));
    for thing in &bill.things {
        let price = match thing.treatment.method {
            WaterTube => {
                event.means.tubes.iter().find(|t| t.ml == thing.treatment.tube_ml).expect("a size").price
            }
            Method::Vessel => continue,
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
        near(bill.paid_hours, plan.roster.people.iter().map(there).sum())
            && near(own.paid_hours, bill.paid_hours)
    );
    assert!(near(bill.hands, event.means.hourly * bill.paid_hours));
    let at = |t: f64| plan.roster.people.iter().filter(|p| p.from <= t && t < p.to).count() as u32;
    assert_eq!(own.people, plan.roster.people.iter().map(|p| at(p.from)).max().unwrap_or(0));
    // The whole bill is what it costs in the comparison.
    assert!(near(own.cost, bill.total()), "{} {}", own.cost, bill.total());
    let fails: Vec<OrderId> = plan.orders.iter().filter(|f| !f.lasts()).map(|f| f.id).collect();
    assert_eq!(own.fails, fails);
    // What the crew does is the work there is: flowers, chores, the last look over every head at 20 a minute.
    let done: f64 = plan.roster.people.iter().flat_map(|p| &p.assignments).map(|s| s.to - s.from).sum();
    assert!(near(done + plan.roster.left, bill.work_hours));
    let heads: u32 = event.orders().map(|(.., order)| order.heads).sum();
    let look = f64::from(heads) / 20.0 / 60.0 * (1.0 + event.means.slack);
    let chores: f64 = event.means.chores.iter().map(|c| c.hours).sum();
    let flowers: f64 = plan.orders.iter().map(|f| f.hours).sum();
    // A move is two people's quarter of an hour.
    let moves: usize = event.pieces.iter().map(|p| p.moves.len()).sum();
    let chores = chores + 0.5 * moves as f64;
    assert!(near(bill.work_hours, flowers + chores + look), "{} {flowers} {chores} {look}", bill.work_hours);
    for flower in plan.orders.iter().filter(|f| f.recommended().treatment.method.is_dry()) {
        let minutes =
            f64::from(flower.heads) * event.means.minutes.a_head(flower.recommended().treatment.method, 0.0);
        assert!(near(flower.hours, minutes / 60.0 * (1.0 + event.means.slack)));
    }
    // What is told of a flower is told for the last time tried before the crew begins with it.
    for flower in &plan.orders {
        let Some((begun, _)) = plan.roster.span(Work::Place(flower.id)) else { continue };
        let option = flower.recommended();
        let between = |t: &f64| *t > option.place_at + 1e-6 && *t <= begun;
        assert!(option.place_at <= begun + 1e-6, "{} for {begun}", option.place_at);
        assert!(option.top_up.is_some() || !times_tried(&flower.options).iter().any(between), "{begun}");
    }
    let mean_square = |f: &dyn Fn(&PlacingOption) -> f64| {
        let all: Vec<f64> = plan.orders.iter().flat_map(|p| p.options.iter()).map(f).collect();
        all.iter().sum::<f64>() / all.len() as f64
    };
    assert!(near(plan.error().powi(2), mean_square(&|c| c.error * c.error)));
    assert!(mean_square(&|c| c.error) <= plan.error() + 1e-12);
}
