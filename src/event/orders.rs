//! The `[[piece.flower]]` sections: which flower, how many heads, how prepared, and what may be done with them.

use super::means::{Means, Purse};
use super::model::{Criterion, Order, Shape};
use super::section::{Found, Section};
use crate::error::{Problem, nearest};
use crate::flower::catalogue::{Catalogue, Flower, Kind};
use crate::flower::treatment::{Conditioning, Handling, Method, Stage};
use crate::units::{Moment, Span, Volume};

/// Words for what counts as still good.
pub const COUNTS: &[(&str, Criterion)] = &[("flagging", Criterion::Flagging), ("wilted", Criterion::Wilted)];

/// What a piece says of all its flowers.
#[derive(Clone, Copy)]
pub struct Asked {
    /// What counts as still good, unless a flower says otherwise.
    pub counts: Option<Criterion>,
    /// What kind of piece it is.
    pub shape: Shape,
    /// Whether heads may be counted from the length and the look of the piece.
    pub by_look: bool,
}

/// One flower of a piece; `None` where it is wrong, the problems remembered.
pub fn order(section: &Section, means: &Means, purse: &mut Purse, asked: Asked) -> Option<Order> {
    let (flower, own_name) = flower(section).unzip();
    let heads = heads(section, flower, asked.by_look);
    let handling = handling(section);
    let lot = section.text("lot").map(|f| f.value);
    let greens = flower.is_some_and(|f| f.kind() == Kind::Foliage);
    let methods = methods(section, means, greens, asked.shape);
    // Greens do their work until they are limp, even where heads are looked at closely.
    let usual = if greens { Criterion::Wilted } else { asked.counts.unwrap_or(Criterion::Flagging) };
    let counts = section.option("counts", COUNTS).unwrap_or(usual);
    let refills = section.quantities::<Moment>("refill").into_iter().map(|m| m.value.hours).collect();
    let tubes = match section.quantity::<Volume>("tube") {
        Some(one) => vec![one.value.millilitres],
        None => means.tubes.iter().map(|t| t.ml).collect(),
    };
    let stem_price = purse.amount(section, "price");
    section.finish();
    Some(Order {
        flower: flower?,
        own_name: own_name?,
        heads: heads?,
        counts,
        lot,
        handling,
        methods,
        refills,
        tubes,
        stem_price,
    })
}

/// The flower, and what the florist calls it where she says which flower of the catalogue it is like.
fn flower(section: &Section) -> Option<(&'static Flower, Option<String>)> {
    let what = "a flower of the catalogue, which `headwater flowers` lists";
    let name = section.required_text("flower", what, "\"dahlia\"");
    let Some(like) = section.text("like") else {
        let Found { value, span } = name?;
        let or_like = "say which flower it is like: like = \"ranunculus\"";
        let unknown = |p: Problem| section.source.wrong(span, p.or(or_like));
        return Catalogue::shipped().find(&value).map_err(unknown).ok().map(|flower| (flower, None));
    };
    let unknown = |p| section.source.wrong(like.span, p);
    let flower = Catalogue::shipped().find(&like.value).map_err(unknown).ok();
    Some((flower?, Some(name?.value.trim().to_string())))
}

/// How many heads there are, which the florist may give as stems; 0 where the look of the piece is to give them, once
/// all its flowers are read.
fn heads(section: &Section, flower: Option<&Flower>, by_look: bool) -> Option<u32> {
    if section.has("heads") && section.has("stems") {
        let problem = Problem::new("`heads` and `stems` are both given")
            .expected("one of them: heads are what is seen, stems what is bought")
            .help("take one of the two out");
        section.source.wrong(section.place_of("stems"), problem);
    }
    match section.text("stems") {
        Some(stems) if !section.has("heads") => {
            whole(section, "stems", stems).zip(flower).map(|(n, f)| n * f.faces_per_stem())
        }
        None if by_look && !section.has("heads") => Some(0),
        _ => section
            .required_text("heads", "how many heads are seen, or `stems`: how many are bought", "40")
            .and_then(|heads| whole(section, "heads", heads)),
    }
}

/// A whole number of heads or stems.
fn whole(section: &Section, key: &str, Found { value, span }: Found<String>) -> Option<u32> {
    let number = value.replace('_', "").parse().ok().filter(|n| (1..=100_000).contains(n));
    if number.is_none() {
        let problem = Problem::new(format!("`{key}` cannot be {value}"))
            .expected(format!("a whole number of {key}, from 1 to 100000"))
            .help(format!("{key} = 40"));
        section.source.wrong(span, problem);
    }
    number
}

fn handling(section: &Section) -> Handling {
    let conditioning = word(section, "conditioning", Conditioning::from_words, Conditioning::WORDS);
    let stage = word(section, "stage", Stage::from_words, Stage::WORDS);
    Handling {
        conditioning: conditioning.unwrap_or_default(),
        stage: stage.unwrap_or_default(),
        leaves_on: section.option("leaves", &[("off", false), ("on", true)]).unwrap_or(false),
        cultivar_known: section.flag("cultivar_known").unwrap_or(false),
        nested: section.flag("nested").unwrap_or(false),
        own_dry_hours: section.quantity::<Span>("dry_hours").map(|s| s.value.hours),
        learned: None,
    }
}

/// A word out of a table whose rows each begin with the word that is shown; `None` if absent, or wrong and remembered.
fn word<T>(
    section: &Section,
    key: &'static str,
    from_words: impl Fn(&str) -> Option<T>,
    table: &[&[&str]],
) -> Option<T> {
    let Found { value, span } = section.text(key)?;
    let found = from_words(&value);
    if found.is_none() {
        let all: Vec<&str> = table.iter().map(|row| row[0]).collect();
        let near = nearest(&value, all.iter().copied()).unwrap_or(all[0]);
        let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
            .expected(format!("one of: {}", all.join(", ")))
            .help(format!("{key} = \"{near}\""));
        section.source.wrong(span, problem);
    }
    found
}

/// What may be done with the heads: what the florist asks for, or what is usual, as far as the venue allows it.
fn methods(section: &Section, means: &Means, greens: bool, shape: Shape) -> Vec<Method> {
    let mut methods = named_methods(section);
    let forbidden = |method: &Method| match method {
        Method::BudVase if !means.glass => Some(("glass", "treatments = [\"tucked\", \"water tube\"]")),
        dry if dry.is_dry() && greens && !means.dry_greens => {
            Some(("greens out of water", "treatments = [\"water tube\"]"))
        }
        _ => None,
    };
    if let Some((what, help)) = methods.iter().find_map(forbidden) {
        let problem = Problem::new(format!("the venue allows no {what}, but `treatments` asks for it"))
            .expected("a treatment that [venue] allows")
            .help(help);
        section.source.wrong(section.place_of("treatments"), problem);
    }
    if methods.is_empty() {
        // Greens get no vase, and nothing but a table has room for one beside it.
        methods = vec![Method::Tucked, Method::WaterTube];
        if !greens && shape == Shape::Table {
            methods.push(Method::BudVase);
        }
        methods.retain(|method| forbidden(method).is_none());
        if methods.is_empty() {
            methods.push(Method::WaterTube);
        }
    }
    methods
}

/// The methods that the florist asks for, each once.
fn named_methods(section: &Section) -> Vec<Method> {
    let mut methods = Vec::new();
    for Found { value, span } in section.texts("treatments") {
        match value.parse::<Method>() {
            Ok(method) => methods.push(method),
            Err(near) => {
                let problem = Problem::new(format!("{value:?} is not a treatment"))
                    .expected("tucked, wired, water tube or bud vase")
                    .help(format!("\"{near}\""));
                section.source.wrong(span, problem);
            }
        }
    }
    methods.sort_unstable();
    methods.dedup();
    methods
}
