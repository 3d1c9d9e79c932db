//! Public statements on dry hours: each can be looked up, and the table of pooled hours is what they and the trade give.

use headwater::calibrate::pooling::Pool;
use headwater::flower::catalogue::Catalogue;
use headwater::flower::statements::{groups, statements};
use headwater::flower::support::significant;
use headwater::validate::left_out;
use std::collections::BTreeSet;

#[test]
fn every_statement_can_be_looked_up_or_says_why_it_is_left_out() {
    let catalogue = Catalogue::shipped();
    let known: BTreeSet<&str> = catalogue.all().iter().map(|f| f.id()).collect();
    let mut ids = BTreeSet::new();
    for s in statements() {
        assert!(ids.insert(&s.id), "{} stands twice", s.id);
        assert!(s.flowers().all(|id| known.contains(id)), "{}: a flower that is not in the catalogue", s.id);
        assert_eq!(s.used(), s.address.starts_with("http") && s.flowers().count() > 0, "{}", s.id);
        assert!(s.low_h.into_iter().chain(s.high_h).all(|h| h > 0.0), "{}", s.id);
        assert!(s.low_h.unwrap_or(0.0) <= s.high_h.unwrap_or(f64::INFINITY), "{}", s.id);
    }
    assert!(statements().len() >= 181 && groups().len() >= 35);
}

/// Made anew by `HEADWATER_DRY_HOURS=write cargo test --test statements`.
#[test]
fn the_table_of_dry_hours_is_what_statements_and_memory_give() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/reference-data/dry-hours.csv");
    let pooled = Pool::without(None).learned();
    let row = |f: &'static headwater::flower::catalogue::Flower| {
        let (middle, sd) = pooled.middle(f);
        let about: BTreeSet<&str> =
            statements().iter().filter(|s| s.used() && s.is_about(f)).map(|s| s.group.as_str()).collect();
        (f, significant(middle.exp()), significant(sd), about.len() as u32)
    };
    let rows: Vec<_> = Catalogue::shipped().all().iter().map(row).collect();
    if std::env::var("HEADWATER_DRY_HOURS").is_ok_and(|v| v == "write") {
        let line = |(f, hours, sd, groups): &(&headwater::flower::catalogue::Flower, f64, f64, u32)| {
            format!("{},{hours},{sd},{groups}\n", f.id())
        };
        let text: String = rows.iter().map(line).collect();
        std::fs::write(path, format!("id,dry_hours,ln_sd,groups\n{text}")).unwrap();
        return;
    }
    for (f, hours, sd, groups) in rows {
        let kept = f.support();
        assert_eq!(kept.groups, groups, "{}", f.id());
        // Three digits are kept, and systems differ in the last bits of a logarithm.
        assert!((kept.dry_hours / hours).ln().abs() < 0.011, "{}: {} h, {hours} h", f.id(), kept.dry_hours);
        assert!((kept.ln_sd / sd).ln().abs() < 0.011, "{}: {}, {sd}", f.id(), kept.ln_sd);
    }
}

/// Statements are support, not new hours: where nobody speaks the trade's memory stands, and where anybody does less is
/// unknown, never more.
#[test]
fn statements_leave_less_unknown_and_silence_leaves_the_trades_hours() {
    for f in Catalogue::shipped().all() {
        let (kept, trade) = (f.support(), f.trade_hours());
        let memory = (trade.high / trade.low).ln() / 2.563;
        assert!(kept.ln_sd < 1.01 * memory, "{}: {} of {memory}", f.id(), kept.ln_sd);
        if kept.groups == 0 {
            assert_eq!((kept.dry_hours, f.parameter(trade.quantity).value), (trade.value, trade.value));
        }
    }
    let by_groups = |id: &str| Catalogue::shipped().find(id).unwrap().support().clone();
    let (rose, dahlia) = (by_groups("rose"), by_groups("dahlia-ball"));
    assert!(rose.groups >= 10 && rose.ln_sd < 0.3, "{rose:?}");
    assert!(dahlia.groups <= 2 && dahlia.ln_sd > 0.45, "{dahlia:?}");
}

/// What is claimed for pooling, and no more: it foretells a group left out far better than knowing no flower, and not so much
/// better than the trade's own order that anybody could tell.
#[test]
fn a_group_left_out_is_foretold_as_well_as_by_the_trade_and_no_more() {
    let scores = left_out();
    let (pooled, trade, none) =
        (scores.pooled.log_score, scores.trade.log_score, scores.unknown_flower.log_score);
    assert!(pooled > none + 30.0, "{scores:?}");
    assert!((pooled - trade).abs() < 10.0, "{scores:?}");
    let share = |f: headwater::validate::Fared| f.held as f64 / f.closed as f64;
    assert!(share(scores.printed) < 0.7 && share(scores.pooled) > 0.65, "{scores:?}");
}
