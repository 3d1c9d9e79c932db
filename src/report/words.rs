//! Plain words: no percentages where a count of heads will do, no term that a client would have to ask about.

use super::learning;
use crate::decide::plan::{FlowerPlan, Grade, LONGEST_WAIT, PlacingOption};
use crate::event::{Criterion, Event, Order, Piece, Space};
use crate::flower::catalogue::{Kind, Quantity};
use crate::flower::treatment::{Method, Treatment};
use crate::stats::Band;
use crate::units::{Scale, Span, short};

/// A flower's name as it is said: "dahlia, ball/pompon" is a ball dahlia.
///
/// ```
/// use headwater::report::words::short_name;
/// assert_eq!(short_name("eucalyptus, silver dollar"), "silver dollar eucalyptus");
/// assert_eq!(short_name("hydrangea, mature/antique stage"), "mature hydrangea");
/// assert_eq!(short_name("conifer (cedar, pine, spruce)"), "conifer");
/// assert_eq!(short_name("Italian (soft) ruscus"), "Italian ruscus");
/// assert_eq!(short_name("standard rose"), "standard rose");
/// ```
pub fn short_name(name: &str) -> String {
    // What stands in brackets is an aside.
    let name = match name.split_once(" (").and_then(|(before, rest)| Some((before, rest.split_once(')')?.1)))
    {
        Some((before, after)) => format!("{before}{after}"),
        None => name.to_string(),
    };
    match name.split_once(", ") {
        Some((noun, kind)) => {
            let kind = kind.split(['/', ',']).next().unwrap_or(kind);
            let kind = kind.split(" and ").next().unwrap_or(kind);
            let kind = kind.split(" or ").next().unwrap_or(kind).trim_end_matches(" stage");
            format!("{kind} {noun}")
        }
        None => name,
    }
}

/// A number of heads.
pub fn heads(n: u32) -> String {
    if n == 1 { "1 head".to_string() } else { format!("{n} heads") }
}

/// With a capital first letter.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The lines under an event's name.
pub fn heading(event: &Event, hotter: f64) -> Vec<String> {
    let day = event.date.strftime("%A %-d %B %Y");
    let place = event.place.as_ref().map_or(String::new(), |p| format!("{p}, "));
    let doors = event.moment(event.doors).clock();
    let mut lines = vec![
        format!("{place}{day}. Doors at {doors}, end at {}.", clock(event, event.end)),
        format!(
            "Wanted: {:.0} of 100 heads still good at each piece's hour, whatever the delivery, {:.0} times in 100.",
            100.0 * event.target_share,
            100.0 * event.assurance
        ),
    ];
    if hotter != 0.0 {
        lines.push(self::hotter(event, hotter));
    }
    lines
}

/// A time in running text.
pub fn clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    match moment.day_and_minute().0 {
        0 => moment.clock(),
        -1 => format!("{} the day before", moment.clock()),
        1 => format!("{} that night", moment.clock()),
        _ => moment.to_string(),
    }
}

/// Where a piece stands, and where it goes.
pub fn path(event: &Event, piece: &Piece) -> String {
    let mut text = event.spaces[piece.space].name.clone();
    for (at, space) in &piece.moves {
        text.push_str(&format!(", from {} {}", clock(event, *at), event.spaces[*space].name));
    }
    text
}

/// What ends a head's use.
pub fn gone(counts: Criterion) -> &'static str {
    match counts {
        Criterion::Flagging => "past their best",
        Criterion::Wilted => "limp",
    }
}

/// What is being kept.
pub fn kept(counts: Criterion) -> &'static str {
    match counts {
        Criterion::Flagging => "still fresh to look at",
        Criterion::Wilted => "still standing up",
    }
}

/// A space, its air at telling hours, and where that comes from.
pub fn space(event: &Event, space: &Space) -> String {
    let sun = space.climate.at(15.0).sun;
    let clock = event.moment(15.0).clock();
    let sunny = if sun > 0.0 { format!(", sun of {sun:.0} W/m2 at {clock}") } else { String::new() };
    format!("{}{sunny} ({})", air(event, space), space.from)
}

/// The same as a client would have it.
pub fn air_of(event: &Event, space: &Space) -> String {
    let sunny = if space.climate.at(15.0).sun > 50.0 { ", in the sun" } else { "" };
    let air = air(event, space);
    format!("{}{sunny}", air.replace(" and ", " and humidity "))
}

/// A space and its air at telling hours.
fn air(event: &Event, space: &Space) -> String {
    let at = |hour: f64| {
        let air = space.climate.at(hour);
        let temperature = match event.scale {
            Scale::Celsius => format!("{:.0} C", air.temperature_c),
            Scale::Fahrenheit => format!("{:.0} F", air.temperature_c * 1.8 + 32.0),
        };
        format!("{temperature} and {:.0} %", 100.0 * air.relative_humidity())
    };
    let (night, afternoon) = (at(5.0), at(15.0));
    let clock = |hour: f64| event.moment(hour).clock();
    let air = if night == afternoon {
        format!("{afternoon} at all hours")
    } else {
        // A crowd may be warmer than the afternoon.
        let hours = (0..).map(|n| event.doors + 0.25 * f64::from(n)).take_while(|h| *h <= event.end);
        let warmest = hours.max_by(|a, b| {
            let celsius = |h: &f64| space.climate.at(*h).temperature_c;
            celsius(a).total_cmp(&celsius(b))
        });
        let crowded = match warmest {
            Some(hour) if !space.climate.repeats() => format!("{} at {}, ", at(hour), clock(hour)),
            _ => String::new(),
        };
        format!("{crowded}{afternoon} at {}, {night} at {}", clock(15.0), clock(5.0))
    };
    format!("{}: {air}", capital(&space.name))
}

/// A difference of temperature in the user's scale.
pub fn degrees(event: &Event, kelvin: f64) -> String {
    match event.scale {
        Scale::Celsius => format!("{} C", short(kelvin.abs())),
        Scale::Fahrenheit => format!("{} F", short(kelvin.abs() * 1.8)),
    }
}

/// What a hotter day means.
pub fn hotter(event: &Event, kelvin: f64) -> String {
    let by = degrees(event, kelvin);
    let towards = if kelvin > 0.0 { "hotter" } else { "cooler" };
    format!(
        "WHAT IF it were {by} {towards} than the file says, with the same moisture in the air, everywhere but in the cool store"
    )
}

/// A flower's dry hours and where they come from.
pub fn dry_hours(order: &Order) -> String {
    let dry = order.flower.parameter(Quantity::DryHours);
    let catalogue =
        format!("{} dry hours in an ordinary room, {} to {} ({})", dry.value, dry.low, dry.high, dry.note);
    match order.handling.own_dry_hours {
        Some(own) => format!(
            "{} dry hours in an ordinary room from your own trial; the catalogue has {catalogue}",
            short(own)
        ),
        None => match &order.handling.learned {
            Some(known) => learning::sentence(order.flower, known),
            None => catalogue,
        },
    }
}

/// A count with its range.
pub fn count(count: &Band, heads: u32) -> String {
    match (count.p05 == count.p95, count.p50) {
        (true, 0.0) => format!("hardly one of {heads}"),
        (true, n) if n < f64::from(heads) => format!("about {n} of {heads}"),
        (true, _) if heads == 1 => "the one".to_string(),
        (true, _) => format!("practically all {heads}"),
        _ => format!("about {} of {heads} (nine times out of ten {} to {})", count.p50, count.p05, count.p95),
    }
}

/// The range of a count in a table, where there is one, to follow its middle; `to` stands between its ends.
pub fn range(count: &Band, to: &str) -> String {
    match count.p05 == count.p95 {
        true => String::new(),
        false => format!(" ({}{to}{})", count.p05, count.p95),
    }
}

/// What to do with a flower of a piece and why, a sentence or two a line, the most important first.
pub fn advice(event: &Event, piece: &Piece, plan: &FlowerPlan) -> Vec<String> {
    let option = plan.recommended();
    let count = count(&plan.count, plan.heads());
    let mut lines = vec![
        order(event, plan),
        format!(
            "At {}, {count} should be {}.{}",
            clock(event, piece.until),
            kept(plan.order.counts),
            gamble(option)
        ),
    ];
    lines.extend(why(event, piece, plan));
    lines.extend(not_lasting(event, piece, plan));
    lines.extend(spares(plan));
    lines.extend(rivals(event, plan));
    lines.extend(tubes(event, piece, plan));
    lines.extend(waiting(event, piece, plan));
    lines.extend(knowledge(plan));
    let note = plan.order.flower.placing_note();
    if !note.is_empty() {
        lines.push(format!("Placing: {}", capital(note)));
    }
    lines
}

fn order(event: &Event, plan: &FlowerPlan) -> String {
    let (from, to) = plan.window;
    let greens = plan.order.flower.kind() == Kind::Foliage;
    let what = match plan.recommended().treatment.method {
        Method::Tucked if greens => "Lay dry",
        Method::WaterTube if greens => "Lay with the stems in water tubes",
        other => other.order(),
    };
    let when = if from == to {
        format!("at {}", clock(event, from))
    } else {
        format!("not before {}, not after {}", clock(event, from), clock(event, to))
    };
    let verdict = match plan.grade() {
        Grade::Fine => "",
        Grade::Borderline => " That is borderline.",
        Grade::Short => " That is the best there is, and it falls short.",
    };
    format!("{what}: {when}.{verdict}")
}

/// How many heads of a choice are lost in the middle case.
fn lost(option: &PlacingOption, heads: u32) -> u32 {
    heads - (option.share.p50 * f64::from(heads)).round() as u32
}

/// The one fact that decides, and the runner-up.
fn why(event: &Event, piece: &Piece, plan: &FlowerPlan) -> Vec<String> {
    let (option, heads) = (plan.recommended(), plan.order.heads);
    let (until, gone) = (clock(event, piece.until), gone(plan.order.counts));
    let outcome = |other: &PlacingOption| {
        let n = lost(other, heads);
        let many = match n {
            0 => "hardly one".to_string(),
            1 if heads == 1 => "it".to_string(),
            n if n == heads => format!("all {heads}"),
            n => format!("about {n} of your {heads}"),
        };
        // The bad end is told where it is much worse than the middle.
        let worst = heads - other.count.p05 as u32;
        let poor = if worst > n + heads.div_ceil(20) {
            format!(", but in a poor delivery {worst}")
        } else {
            String::new()
        };
        format!("{many} would be {gone} by {until}{poor}.")
    };
    let mut lines = Vec::new();
    if option.treatment.method.is_dry() {
        let first = plan.of(option.treatment).next().expect("the choice is one of them");
        if first.place_at < plan.window.0 {
            lines.push(format!(
                "Why not earlier: placed at {}, {}",
                clock(event, first.place_at),
                outcome(first)
            ));
        }
    } else if let Some(last) = plan.options.iter().rev().find(|c| c.treatment.method.is_dry())
        && last.spares.is_none()
    {
        lines.push(format!("Why not dry: even placed at {}, {}", clock(event, last.place_at), outcome(last)));
    }
    if option.treatment.method == Method::BudVase
        && let Some(tube) = plan.of_method(Method::WaterTube).last()
        && tube.spares.is_none()
    {
        lines.push(format!(
            "Why not tubes: even placed at {}, {}",
            clock(event, tube.place_at),
            outcome(tube)
        ));
    }
    lines
}

fn not_lasting(event: &Event, piece: &Piece, plan: &FlowerPlan) -> Option<String> {
    (!plan.lasts).then(|| {
        format!(
            "It keeps {:.0} of 100 heads until {} in only {:.0} of 100 deliveries. Ways out: a hardier flower, a later \
             access, a cooler room, an earlier hour{}.",
            100.0 * event.target_share,
            clock(event, piece.until),
            100.0 * plan.recommended().assurance,
            match plan.order.counts {
                Criterion::Flagging => ", or counting only limp heads where nobody sees them close up",
                Criterion::Wilted => "",
            }
        )
    })
}

/// Where few know how it will go.
fn gamble(option: &PlacingOption) -> &'static str {
    if option.share.p95 - option.share.p05 > 0.5 { " That is a gamble." } else { "" }
}

/// What a way is called, with the size of its tube.
pub fn treatment(treatment: Treatment) -> String {
    match treatment.method {
        Method::WaterTube => format!("{} ml tube", short(treatment.tube_ml)),
        other => other.words().to_string(),
    }
}

/// What a cheaper way would take, and by how much the next one is dearer.
fn rivals(event: &Event, plan: &FlowerPlan) -> Vec<String> {
    let means = &event.means;
    let mut lines = Vec::new();
    if let Some(rival) = plan.passed_over {
        lines.push(format!(
            "With more hands or material: {} would do from {}, {} of work for one person, but the people and things \
             there are do not allow it then.",
            treatment(rival.treatment),
            clock(event, rival.from),
            Span { hours: rival.hours }
        ));
    }
    if let Some(rival) = plan.runner_up {
        let more = if rival.dearer < 0.5 {
            "costs about the same".to_string()
        } else {
            format!("costs about {} more", means.currency.show(rival.dearer))
        };
        lines.push(format!(
            "Next best: {} from {} would do too, and {more}.",
            treatment(rival.treatment),
            clock(event, rival.from)
        ));
    }
    lines
}

fn tubes(event: &Event, piece: &Piece, plan: &FlowerPlan) -> Option<String> {
    let empty = plan.tube_empty.as_ref()?;
    let volume = short(plan.recommended().treatment.tube_ml);
    let Some(early) = empty.p05.filter(|t| *t < piece.until) else {
        return Some(format!(
            "Tubes: {volume} ml is enough, with no refill before {}.",
            clock(event, piece.until)
        ));
    };
    let told = |hours: f64| {
        // Ten minutes are as fine as anybody can promise. The day is named where flowers were placed on another.
        let hours = (hours * 6.0).floor() / 6.0;
        let day = if plan.window.0 < 0.0 && hours >= 0.0 { " on the day" } else { "" };
        format!("{}{day}", clock(event, hours))
    };
    let typical = empty
        .p50
        .filter(|t| *t < event.end)
        .map_or(String::new(), |t| format!(", half of them by {}", told(t)));
    Some(format!(
        "Tubes: of those with {volume} ml one in twenty is empty by {}{typical}. Fill them up before then, or take the \
         next size.",
        told(early)
    ))
}

fn waiting(event: &Event, piece: &Piece, plan: &FlowerPlan) -> Option<String> {
    let (hours, untried) = plan.dry_wait?;
    let space = &event.spaces[piece.wait].name;
    let placed = format!("if they are then placed at {}", clock(event, plan.window.1));
    Some(if hours == 0.0 {
        format!(
            "Boxes: keep these in water until they are placed; half an hour dry in the {space} is too long."
        )
    } else if untried && hours >= LONGEST_WAIT {
        format!("Boxes: they may wait dry in the {space} for {} and more, {placed}.", Span { hours })
    } else {
        format!("Boxes: they may wait dry in the {space} for up to {}, {placed}.", Span { hours })
    })
}

/// Heads placed beyond those ordered, and those kept for the last look.
fn spares(plan: &FlowerPlan) -> Option<String> {
    let (spares, repairs) = (plan.spares, plan.repairs);
    let placed = format!(
        "place {} instead of {}, so that {} last",
        heads(plan.heads()),
        plan.order.heads,
        plan.wanted()
    );
    let kept = format!("keep {} in water for the last look", heads(repairs));
    match (spares, repairs) {
        (0, 0) => None,
        (_, 0) => Some(format!("Spares: {placed}.")),
        (0, _) => Some(format!("Spares: {kept}.")),
        _ => Some(format!("Spares: {placed}; {kept}.")),
    }
}

/// What trials could teach, where it would matter.
fn knowledge(plan: &FlowerPlan) -> Option<String> {
    let (now, then) = (plan.count.p05, plan.count_if_known.p05);
    (then - now >= 2.0).then(|| {
        format!(
            "What a trial would tell: part of that range is that nobody has measured this flower. Knowing its dry hours \
             would lift the low end from {now} to {then}."
        )
    })
}

/// A title for a flower of a piece.
pub fn title(piece: &str, flower: &str, heads: u32) -> String {
    format!("{}: {}, {}", capital(piece), short_name(flower), self::heads(heads))
}
