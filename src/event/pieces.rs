//! The pieces of an event file: what is made, of which flowers, and what may be done with them.

use super::means::{Means, Purse};
use super::read::{Found, Section};
use super::{Criterion, Near, Order, Piece, Shape, find_space};
use crate::error::Problem;
use crate::flower::catalogue::{Catalogue, Kind};
use crate::flower::treatment::{Conditioning, Handling, Method, Stage};
use crate::units::{Length, Moment, Span, Volume};
use std::ops::Range;

/// What the pieces of an event have in common, and what is collected from them.
pub struct ParseContext<'a> {
    /// The names of the spaces.
    pub spaces: &'a [String],
    /// What there is to work with.
    pub means: &'a Means,
    /// The money met so far.
    pub purse: &'a mut Purse,
    /// When the event ends.
    pub end: Moment,
    /// Names that are taken.
    pub taken: Vec<String>,
    /// What was assumed.
    pub assumptions: &'a mut Vec<String>,
}

/// A piece, and where the times of its moves stand.
pub fn piece(section: &Section, context: &mut ParseContext) -> Option<(Piece, Vec<Range<usize>>)> {
    let (source, end) = (section.source, context.end);
    let taken = &mut context.taken;
    let find_space = |Found { value, span }: Found<String>| {
        find_space(&value, context.spaces).map_err(|p| source.wrong_if(span, p)).ok()
    };
    let name = section.required_text("name", "what you call this piece", "\"long table\"");
    if let Some(Found { value, span }) = &name {
        if taken.contains(value) {
            let problem = Problem::new(format!("two pieces are called \"{value}\""))
                .expected("a name of its own for each piece")
                .help(format!("name = \"{value} {}\"", taken.len() + 1));
            source.wrong(span.clone(), problem);
        }
        taken.push(value.clone());
    }
    let space = section
        .required_text("space", "the name of the [[space]] it stands in", "\"barn\"")
        .and_then(find_space);
    let until = section.quantity::<Moment>("until").map_or(end.hours, |m| m.value.hours);
    let counts = section.option("counts", COUNTS);
    let shape = section.option("shape", SHAPES).unwrap_or_default();
    let from = section.quantity::<Moment>("placed_from").map(|m| m.value.hours);
    let to = section.quantity::<Moment>("placed_to").map(|m| m.value.hours);
    let placed = (from.is_some() || to.is_some())
        .then(|| (from.unwrap_or(f64::NEG_INFINITY), to.unwrap_or(f64::INFINITY)));
    let length = section.quantity::<Length>("length").map(|l| l.value);
    let near = section.texts("near").into_iter().filter_map(|f| near(section, f)).collect();
    let (mut moves, mut places): (Vec<(f64, usize)>, _) = (Vec::new(), Vec::new());
    for step in section.sections("move") {
        let at = step.required::<Moment>("at", "the time at which the piece moves", "\"17:00\"");
        let to = step
            .required_text("to", "the name of the [[space]] it moves to", "\"hall\"")
            .and_then(find_space);
        step.finish();
        if let (Some(at), Some(to)) = (at, to) {
            if moves.last().is_some_and(|(last, _)| *last >= at.value.hours) {
                let problem =
                    Problem::new(format!("this move at {} does not come after the one before it", at.value))
                        .expected("moves in rising order of time")
                        .help("sort the moves by time, or write \"next day\" before a time after midnight");
                source.wrong(at.span.clone(), problem);
            }
            places.push(at.span);
            moves.push((at.value.hours, to));
        }
    }
    let mut orders = Vec::new();
    let flowers = section.required_sections(
        "flower",
        "[[piece.flower]]",
        "a section for each flower in it",
        "flower = \"dahlia\" and heads = 40",
    );
    let look = section.option("look", LOOKS);
    for flower in flowers.iter().take_while(|_| !source.is_full()) {
        orders.extend(order(flower, context, (counts, shape, look.is_some())));
    }
    match (look, &length) {
        (Some(look), Some(length)) => {
            let name = name.as_ref().map_or("", |n| &n.value);
            context.assumptions.extend(fill(&mut orders, look, length, name));
        }
        (Some(_), None) => source.wrong(
            section.place_of("look"),
            Problem::new("`look` says how full the piece is, but not how long it is")
                .expected("the length beside it, from which greens and heads are counted")
                .help("length = \"12 m\""),
        ),
        _ => (),
    }
    section.finish();
    if orders.len() < flowers.len() {
        return None;
    }
    let piece = Piece {
        name: name?.value,
        space: space?,
        moves,
        until,
        wait: space?,
        shape,
        placed,
        length,
        near,
        orders,
    };
    Some((piece, places))
}

fn near(section: &Section, found: Found<String>) -> Option<Near> {
    const WORDS: [(&str, Near); 13] = [
        ("food", Near::Food),
        ("buffet", Near::Food),
        ("cake", Near::Food),
        ("pets", Near::Pets),
        ("cat", Near::Pets),
        ("dog", Near::Pets),
        ("children", Near::Children),
        ("child", Near::Children),
        ("kids", Near::Children),
        ("candles", Near::Flame),
        ("flame", Near::Flame),
        ("overhead", Near::Overhead),
        ("ladder", Near::Overhead),
    ];
    let wanted = found.value.to_lowercase();
    let near = WORDS.iter().find(|(w, _)| *w == wanted).map(|(_, n)| *n);
    if near.is_none() {
        let all: Vec<&str> = WORDS.iter().map(|(w, _)| *w).collect();
        let problem = Problem::new(format!("`near` cannot be {:?}", found.value))
            .expected(format!("any of: {}", all.join(", ")))
            .help(match crate::error::nearest(&wanted, all.iter().copied()) {
                Some(near) => format!("\"{near}\""),
                None => "near = [\"cake\", \"candles\"]".to_string(),
            });
        section.source.wrong(found.span, problem);
    }
    near
}

/// Words for what counts as still good.
const COUNTS: &[(&str, Criterion)] = &[("flagging", Criterion::Flagging), ("wilted", Criterion::Wilted)];
/// Words for what a piece is.
const SHAPES: &[(&str, Shape)] = &[
    ("table", Shape::Table),
    ("arch", Shape::Arch),
    ("aisle", Shape::Arch),
    ("pew", Shape::Arch),
    ("cake", Shape::Cake),
];

/// How full a runner looks: sprigs of soft ruscus to the foot, heads to the metre. Common practice, from memory: 1, 2 and
/// 3 to 4 sprigs; 4 to 6, 8 to 12 and 16 to 24 heads.
const LOOKS: &[(&str, Look)] = &[
    ("thin", Look { words: "thin", sprigs_a_foot: 1.0, heads_a_metre: 5.0 }),
    ("standard", Look { words: "standard", sprigs_a_foot: 2.0, heads_a_metre: 10.0 }),
    ("lush", Look { words: "lush", sprigs_a_foot: 3.5, heads_a_metre: 20.0 }),
];
const FOOT: f64 = 0.3048;

#[derive(Debug, Clone, Copy)]
struct Look {
    words: &'static str,
    sprigs_a_foot: f64,
    heads_a_metre: f64,
}

/// Counts what the florist left to the look: greens among themselves in equal parts, and so heads. Says what it took.
fn fill(orders: &mut [Order], look: Look, length: &Length, piece: &str) -> Option<String> {
    let mut told = Vec::new();
    for greens in [true, false] {
        let mut open: Vec<&mut Order> = orders
            .iter_mut()
            .filter(|o| o.heads == 0 && (o.flower.kind() == Kind::Foliage) == greens)
            .collect();
        if open.is_empty() {
            continue;
        }
        let all = match greens {
            true => length.metres / FOOT * look.sprigs_a_foot,
            false => length.metres * look.heads_a_metre,
        };
        let each = (all / open.len() as f64).ceil().max(1.0);
        open.iter_mut().for_each(|o| o.heads = each as u32);
        told.push(match greens {
            true => format!("{:.0} sprigs, {} to the foot", each * open.len() as f64, look.sprigs_a_foot),
            false => format!("{:.0} heads, {} to the metre", each * open.len() as f64, look.heads_a_metre),
        });
    }
    (!told.is_empty()).then(|| {
        format!(
            "a {} look over the {length} of {piece} takes {} (common practice, no source)",
            look.words,
            told.join(", and ")
        )
    })
}

fn order(
    section: &Section,
    context: &mut ParseContext,
    (counts, shape, by_look): (Option<Criterion>, Shape, bool),
) -> Option<Order> {
    let means = context.means;
    let source = section.source;
    let flower = section
        .required_text("flower", "a flower of the catalogue, which `headwater flowers` lists", "\"dahlia\"")
        .and_then(|Found { value, span }| {
            Catalogue::shipped().find(&value).map_err(|p| source.wrong(span, p)).ok()
        });
    let whole =
        |key: &'static str, Found { value, span }: Found<String>| match value.replace('_', "").parse::<u32>()
        {
            Ok(n) if (1..=100_000).contains(&n) => Some(n),
            _ => {
                let problem = Problem::new(format!("`{key}` cannot be {value}"))
                    .expected(format!("a whole number of {key}, from 1 to 100000"))
                    .help(format!("{key} = 40"));
                source.wrong(span, problem);
                None
            }
        };
    // Heads are what is seen; a florist may count stems instead.
    if section.has("heads") && section.has("stems") {
        let problem = Problem::new("`heads` and `stems` are both given")
            .expected("one of them: heads are what is seen, stems what is bought")
            .help("take one of the two out");
        source.wrong(section.place_of("stems"), problem);
    }
    let heads = match section.text("stems") {
        Some(stems) if !section.has("heads") => {
            whole("stems", stems).zip(flower).map(|(n, f)| n * f.faces_per_stem())
        }
        // Counted from the length and the look of the piece, when all its flowers are read.
        None if by_look && !section.has("heads") => Some(0),
        _ => section
            .required_text("heads", "how many heads are seen, or `stems`: how many are bought", "40")
            .and_then(|heads| whole("heads", heads)),
    };
    let words = |all: &'static [&'static [&'static str]]| all.iter().map(|w| w[0]).collect::<Vec<_>>();
    let chosen = |key: &'static str, all: Vec<&str>| -> Option<String> {
        let Found { value, span } = section.text(key)?;
        let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
            .expected(format!("one of: {}", all.join(", ")))
            .help(format!(
                "{key} = \"{}\"",
                crate::error::nearest(&value, all.iter().copied()).unwrap_or(all[0])
            ));
        let known = match key {
            "conditioning" => Conditioning::from_words(&value).is_some(),
            _ => Stage::from_words(&value).is_some(),
        };
        if !known {
            source.wrong(span, problem);
        }
        Some(value)
    };
    let conditioning =
        chosen("conditioning", words(Conditioning::WORDS)).and_then(|w| Conditioning::from_words(&w));
    let stage = chosen("stage", words(Stage::WORDS)).and_then(|w| Stage::from_words(&w));
    let handling = Handling {
        conditioning: conditioning.unwrap_or_default(),
        stage: stage.unwrap_or_default(),
        leaves_on: section.option("leaves", &[("off", false), ("on", true)]).unwrap_or(false),
        cultivar_known: section.flag("cultivar_known").unwrap_or(false),
        nested: section.flag("nested").unwrap_or(false),
        own_dry_hours: section.quantity::<Span>("dry_hours").map(|s| s.value.hours),
        learned: None,
    };
    let lot = section.text("lot").map(|f| f.value);
    let mut methods = Vec::new();
    for Found { value, span } in section.texts("treatments") {
        match value.parse::<Method>() {
            Ok(method) => methods.push(method),
            Err(near) => {
                let problem = Problem::new(format!("{value:?} is not a treatment"))
                    .expected("tucked, wired, water tube or bud vase")
                    .help(format!("\"{near}\""));
                source.wrong(span, problem);
            }
        }
    }
    methods.sort_unstable();
    methods.dedup();
    let greens = flower.is_some_and(|f| f.kind() == Kind::Foliage);
    let forbidden = |t: Method| match t {
        Method::BudVase if !means.glass => Some(("glass", "treatments = [\"tucked\", \"water tube\"]")),
        t if t.is_dry() && greens && !means.dry_greens => {
            Some(("greens out of water", "treatments = [\"water tube\"]"))
        }
        _ => None,
    };
    if let Some((what, help)) = methods.iter().find_map(|t| forbidden(*t)) {
        let problem = Problem::new(format!("the venue allows no {what}, but `treatments` asks for it"))
            .expected("a treatment that [venue] allows")
            .help(help);
        source.wrong(section.place_of("treatments"), problem);
    }
    if methods.is_empty() {
        // Greens go in dry unless the florist says otherwise; a vase stands beside a table, not on an arch or a cake.
        methods = match (greens, shape) {
            (true, _) => vec![Method::Tucked],
            (false, Shape::Table) => vec![Method::Tucked, Method::WaterTube, Method::BudVase],
            (false, _) => vec![Method::Tucked, Method::WaterTube],
        };
        methods.retain(|t| forbidden(*t).is_none());
        if methods.is_empty() {
            methods.push(Method::WaterTube);
        }
    }
    // Greens do their work until they are limp, even where heads are looked at closely.
    let usual = if greens { Criterion::Wilted } else { counts.unwrap_or(Criterion::Flagging) };
    let counts = section.option("counts", COUNTS).unwrap_or(usual);
    let refills = section.quantities::<Moment>("refill").into_iter().map(|m| m.value.hours).collect();
    let tubes = match section.quantity::<Volume>("tube") {
        Some(one) => vec![one.value.millilitres],
        None => means.tubes.iter().map(|t| t.ml).collect(),
    };
    let stem_price = context.purse.amount(section, "price");
    section.finish();
    Some(Order { flower: flower?, heads: heads?, counts, lot, handling, methods, refills, tubes, stem_price })
}
