//! What to do with an order, and why: lines of a sentence or two, the most important first.

use super::clock::{clock, spoken};
use super::facts::{Loss, OrderFacts, Reason};
use super::learning;
use super::money;
use super::support;
use super::words::{capital, count, gone, heads, how_often, kept, short_name, treatment_name};
use crate::decide::options::PlacingOption;
use crate::decide::order::{DryWait, Grade};
use crate::decide::placing::LONGEST_WAIT;
use crate::event::{Criterion, Event, Order};
use crate::flower::catalogue::Quantity;
use crate::flower::treatment::Method;
use crate::units::{Span, short};

/// The full advice on an order, line by line.
pub fn advice(event: &Event, order: &OrderFacts) -> Vec<String> {
    let until = clock(event, order.piece.until);
    let many = count(&order.count, order.heads);
    let mut lines = vec![
        instruction(event, order),
        format!(
            "At {until}, {many} should be {}: sure of {} {}.{}",
            kept(order.order.counts),
            order.wanted,
            how_often(order.sure),
            gamble(order.recommended())
        ),
    ];
    lines.extend(last_hour(event, order));
    lines.extend(order.reasons().into_iter().map(|reason| why(event, order, reason)));
    lines.extend(not_lasting(event, order));
    lines.extend(spares(order));
    lines.extend(rivals(event, order));
    lines.extend(mass(event, order));
    lines.extend(tubes(event, order));
    lines.extend(crowded(order));
    lines.extend(order.dry_wait.map(|wait| boxes(event, order, wait)));
    lines.extend(knowledge(order));
    let note = order.flower().placing_note();
    if !note.is_empty() {
        lines.push(format!("Placing: {}", capital(note)));
    }
    lines
}

/// A flower's dry hours and their source.
pub fn dry_hours(order: &Order) -> String {
    let flower = short_name(order.flower.name());
    let like =
        order.own_name.as_ref().map_or(String::new(), |own| format!("{own} is taken to be like {flower}: "));
    let dry = order.flower.parameter(Quantity::DryHours);
    let catalogue =
        format!("{} dry in an ordinary room ({})", spoken(dry.value), support::behind(order.flower));
    let told = match (order.handling.own_dry_hours, &order.handling.learned) {
        (Some(own), _) => format!(
            "{} dry in an ordinary room from your own trial; the catalogue has {catalogue}",
            spoken(own)
        ),
        (None, Some(known)) => learning::sentence(order.flower, known, &order.handling),
        (None, None) => catalogue,
    };
    format!("{like}{told}")
}

/// So many bud vases on a metre stand in each other's way (common practice, no source).
const CROWDED: f64 = 5.0;

/// A word on vases that crowd a piece; `None` where they do not, or its length is not known.
fn crowded(order: &OrderFacts) -> Option<String> {
    let length = order.piece.length.as_ref()?;
    let each = f64::from(order.heads) / f64::from(order.piece.count);
    let crowded = order.treatment().method == Method::BudVase && each / length.metres > CROWDED;
    crowded.then(|| {
        format!("{each:.0} bud vases on {length} are many: a bowl or a compote holds several stems, and stands safer.")
    })
}

/// What to do and when, with a verdict unless the order lasts.
fn instruction(event: &Event, order: &OrderFacts) -> String {
    let (from, to) = order.window;
    let what = match order.treatment().method {
        Method::Tucked if order.is_foliage() => "Lay dry",
        Method::WaterTube if order.is_foliage() => "Lay with the stems in water tubes",
        other => other.order(),
    };
    let when = if from == to {
        format!("at {}", clock(event, from))
    } else {
        format!("not before {}, not after {}", clock(event, from), clock(event, to))
    };
    let verdict = match order.grade {
        Grade::Fine => "",
        Grade::Borderline => " That is borderline.",
        Grade::Short => " That is the best there is, and it falls short.",
    };
    format!("{what}: {when}.{verdict}")
}

/// What is said for placing it dry at the last hour: its chance, and what it saves. `None` if that is planned anyway, or
/// would fail more often than not.
fn last_hour(event: &Event, order: &OrderFacts) -> Option<String> {
    let last = order.dry_options().next_back().filter(|o| o.assurance >= 0.5 && o.spares.is_none())?;
    let saved = match order.treatment().method {
        Method::WaterTube => format!("saves {} tubes", order.heads),
        Method::BudVase => format!("saves {} vases", order.heads),
        Method::Tucked | Method::Wired | Method::Vessel => return None,
    };
    let with_water = order.in_two_ways.map_or(String::new(), |two| {
        format!(
            "; with {} of them in water as planned and the rest dry, {}",
            two.in_water,
            how_often(two.sure)
        )
    });
    Some(format!(
        "Your choice: dry at the last hour, {}, {} is sure {} and {saved}{with_water}.",
        clock(event, last.place_at),
        order.wanted,
        how_often(last.assurance)
    ))
}

/// A warning if the share is very uncertain; otherwise empty.
fn gamble(option: &PlacingOption) -> &'static str {
    if option.share.p95 - option.share.p05 > 0.5 { " That is a gamble." } else { "" }
}

/// A reason for the treatment as a sentence.
fn why(event: &Event, order: &OrderFacts, reason: Reason) -> String {
    let at = |loss: &Loss| clock(event, loss.place_at);
    let (begins, loss) = match &reason {
        Reason::NotEarlier(loss) => (format!("Why not earlier: placed at {}", at(loss)), loss),
        Reason::NotDry(loss) => (format!("Why not dry: even placed at {}", at(loss)), loss),
        Reason::NotTubes(loss) => (format!("Why not tubes: even placed at {}", at(loss)), loss),
    };
    let ordered = order.order.heads;
    let many = match loss.heads {
        0 => "hardly one".to_string(),
        1 if ordered == 1 => "it".to_string(),
        n if n == ordered => format!("all {ordered}"),
        n => format!("about {n} of your {ordered}"),
    };
    let poor = loss.in_a_poor_lot.map_or(String::new(), |n| format!(", but in a poor delivery {n}"));
    let until = clock(event, order.piece.until);
    format!("{begins}, {many} would be {} by {until}{poor}.", gone(order.order.counts))
}

/// How often the order keeps enough heads, and ways out; `None` if it meets the target.
fn not_lasting(event: &Event, order: &OrderFacts) -> Option<String> {
    (!order.lasts()).then(|| {
        format!(
            "It keeps {:.0} of 100 heads until {} in only {:.0} of 100 deliveries. Ways out: a hardier flower, a later \
             access, a cooler room, an earlier hour{}.",
            100.0 * event.target_share,
            clock(event, order.piece.until),
            100.0 * order.recommended().assurance,
            match order.order.counts {
                Criterion::Flagging => ", or counting only limp heads where nobody sees them close up",
                Criterion::Wilted => "",
            }
        )
    })
}

/// The fewest hours within which a soft head that comes back is worth a tube (judgement): the look itself takes half of it.
const WORTH_A_TUBE: f64 = 1.0;

/// What to do with a head that the last look finds soft.
pub fn soft_heads(order: &OrderFacts) -> String {
    match order.water.comes_back_within {
        hours if hours < WORTH_A_TUBE => {
            "one that has gone soft may not come back in water, so swap it".to_string()
        }
        hours => format!(
            "one that has gone soft comes back, recut and in a tube, within about {} of softening",
            // Rounded down, so that nobody comes too late.
            Span { hours: if hours < 12.0 { (2.0 * hours).floor() / 2.0 } else { 12.0 } }
        ),
    }
}

/// About so many grams.
pub fn grams(grams: f64) -> String {
    if grams < 0.05 { "less than 0.1 g".to_string() } else { format!("about {} g", short(grams)) }
}

/// What mass a head in the middle loses, and what it drinks; `None` for greens.
fn mass(event: &Event, order: &OrderFacts) -> Option<String> {
    if order.is_foliage() {
        return None;
    }
    let until = clock(event, order.piece.until);
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let soft = percent(order.flower().median(Quantity::FlaggingLoss));
    let begins = "Mass lost: a head in the middle";
    Some(match (order.water.lost_dry, order.water.drinks_g_per_hour) {
        (Some(dry), Some(drinks)) => format!(
            "{begins} would have lost {} by {until} if it were dry, and goes soft at {soft}; in water it drinks {} an hour.",
            percent(dry),
            grams(drinks)
        ),
        _ => format!("{begins} has lost {} by {until}, and goes soft at {soft}.", percent(order.water.lost)),
    })
}

/// Heads placed beyond those ordered, and those kept for the last look; `None` if there are neither.
fn spares(order: &OrderFacts) -> Option<String> {
    let placed = format!(
        "place {} instead of {}, so that {} last",
        heads(order.heads),
        order.order.heads,
        order.wanted
    );
    let kept = format!(
        "keep {} of the left-over stems in water for the last look: {}",
        heads(order.repairs),
        soft_heads(order)
    );
    match (order.spares, order.repairs) {
        (0, 0) => None,
        (_, 0) => Some(format!("Spares: {placed}.")),
        (0, _) => Some(format!("Spares: {kept}.")),
        _ => Some(format!("Spares: {placed}; {kept}.")),
    }
}

/// What a cheaper treatment would need, and how much more the next one costs.
fn rivals(event: &Event, order: &OrderFacts) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(rival) = order.passed_over {
        lines.push(format!(
            "With more hands or material: {} would do from {}, {} of work for one person, but the people and things \
             there are do not allow it then.",
            treatment_name(rival.treatment),
            clock(event, rival.from),
            Span { hours: rival.hours }
        ));
    }
    if let Some(rival) = order.runner_up {
        let more = match money::total(event, rival.dearer) {
            _ if rival.dearer < 0.5 => "costs about the same".to_string(),
            Some(dearer) => format!("costs about {dearer} more"),
            None => format!("takes {} of work", Span { hours: rival.hours }),
        };
        lines.push(format!(
            "Next best: {} from {} would do too, and {more}.",
            treatment_name(rival.treatment),
            clock(event, rival.from)
        ));
    }
    lines
}

/// Whether the tubes last until the piece's hour, and if not, when they run empty; `None` without tubes.
fn tubes(event: &Event, order: &OrderFacts) -> Option<String> {
    let empty = order.tube_empty.as_ref()?;
    let volume = short(order.treatment().tube_ml);
    let Some(early) = empty.p05.filter(|t| *t < order.piece.until) else {
        return Some(format!(
            "Tubes: {volume} ml is enough, with no refill before {}.",
            clock(event, order.piece.until)
        ));
    };
    let told = |hours: f64| {
        // Rounded down to ten minutes, the precision anybody can promise. The day is named if flowers are placed on an
        // earlier one.
        let hours = (hours * 6.0).floor() / 6.0;
        let day = if order.window.0 < 0.0 && hours >= 0.0 { " on the day" } else { "" };
        format!("{}{day}", clock(event, hours))
    };
    let typical = empty
        .p50
        .filter(|t| *t < event.end)
        .map_or(String::new(), |t| format!(", half of them by {}", told(t)));
    Some(format!(
        "Tubes: of those with {volume} ml one in twenty is empty by {}{typical}. That is reckoned in: nobody needs to fill \
         them up.",
        told(early)
    ))
}

/// How long boxes may wait dry.
fn boxes(event: &Event, order: &OrderFacts, wait: DryWait) -> String {
    let space = &event.spaces[order.piece.wait].name;
    let boxes = order.order.handling.boxes.words();
    let placed = format!("if they are then placed at {}", clock(event, order.window.1));
    let hours = Span { hours: wait.hours };
    if wait.hours == 0.0 {
        format!(
            "Boxes ({boxes}): keep these in water until they are placed; half an hour dry in the {space} is too long."
        )
    } else if wait.untried_beyond && wait.hours >= LONGEST_WAIT {
        format!("Boxes ({boxes}): they may wait dry in the {space} for {hours} and more, {placed}.")
    } else {
        format!("Boxes ({boxes}): they may wait dry in the {space} for up to {hours}, {placed}.")
    }
}

/// What a trial would teach; `None` unless it would raise the low end by two heads or more.
fn knowledge(order: &OrderFacts) -> Option<String> {
    let (now, then) = (order.count.p05, order.count_if_known.p05);
    (then - now >= 2.0).then(|| {
        format!(
            "What a trial would tell: part of that range is that nobody has measured this flower. Knowing its dry hours \
             would lift the low end from {now} to {then}."
        )
    })
}
