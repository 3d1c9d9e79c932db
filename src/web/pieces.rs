//! The card of the pieces: what is made, where it stands, and its flowers with their counts.

use super::sheet::{Sheet, button, edits, free_name, id, out};
use crate::decide::swaps::likest;
use crate::event::{Event, MOST_ORDERS};
use crate::flower::catalogue::{Catalogue, Flower, Kind, Quantity};
use crate::flower::treatment::{Conditioning, Stage};
use crate::report::clock::spoken;
use crate::report::words::{capital, short_name};
use maud::{Markup, html};

/// The most flowers that a search lists.
const MOST_FOUND: usize = 8;
/// Pieces to begin with: their names, their shapes where it is not something on a table, and their vessels.
const KINDS: [(&str, &str, &str); 5] = [
    ("runner", "", ""),
    ("bowl", "", "bowl"),
    ("arch", "arch", ""),
    ("cake", "cake", ""),
    ("something else", "", ""),
];

/// All pieces in a line.
pub fn in_a_line(event: &Event) -> String {
    let heads: u32 = event.pieces.iter().flat_map(|p| &p.orders).map(|o| o.heads).sum();
    let names: Vec<&str> = event.pieces.iter().map(|p| p.name.as_str()).take(6).collect();
    let more = if event.pieces.len() > names.len() { " and more" } else { "" };
    capital(&format!("{}{more}: {heads} heads and sprigs.", names.join(", ")))
}

/// The body of the card.
pub fn pieces(sheet: &Sheet) -> Markup {
    let all = sheet.draft.each("piece");
    let room = sheet.draft.get("space.0.name");
    let end = sheet.draft.get("event.end");
    html! {
        @for path in &all { (piece(sheet, path)) }
        (sheet.told(&["piece"]))
        @if room.is_empty() { p.missing { "First say the room, above." } }
        @else if sheet.draft.count("piece") < MOST_ORDERS {
            p { @if all.is_empty() { "What do you make?" } @else { "Add:" } }
            p.row {
                @for (kind, shape, vessel) in KINDS {
                    @let name = free_name(sheet, &all, if kind == "something else" { "piece" } else { kind });
                    (button(&capital(kind), &[
                        ("add:piece", ""), ("set:piece.+.name", &name), ("set:piece.+.space", &room),
                        ("set:piece.+.until", &end), ("set:piece.+.shape", shape), ("set:piece.+.vessel", vessel),
                    ], &format!("piece.{}.add", all.len())))
                }
            }
        }
    }
}

/// One piece with its flowers.
fn piece(sheet: &Sheet, path: &str) -> Markup {
    let of = |key: &str| format!("{path}.{key}");
    let name = sheet.draft.get(&of("name"));
    let rooms: Vec<String> =
        sheet.draft.each("space").iter().map(|s| sheet.draft.get(&format!("{s}.name"))).collect();
    let rooms: Vec<(&str, &str)> = rooms.iter().map(|r| (r.as_str(), r.as_str())).collect();
    let place = path.replace('.', "-");
    html! {
        details.part.piece id=(place) open[sheet.below(path).next().is_some()] {
            summary { b { (capital(&name)) } span.s { (in_short(sheet, path)) } span.ch aria-hidden="true" { "open" } }
            p.sen {
                (sheet.number_or(&of("count"), &format!("How many alike: {name}"), "1")) " "
                (sheet.text(&of("name"), "What you call this piece", 14, "long table"))
                " in the " (sheet.choice(&of("space"), "Room", &rooms))
                ", good until " (sheet.time(&of("until"), "Good until", "22:00"))
                ", seen " (sheet.choice(&of("counts"), "How closely it is seen", &[("flagging", "from close"), ("wilted", "across the table")]))
            }
            (sheet.told(&[path, &of("name"), &of("space"), &of("until"), &of("counts"), &of("count")]))
            ul.chips {
                @for flower in sheet.draft.each(&of("flower")) { li { (chip(sheet, &flower)) } }
            }
            (sheet.told(&[&of("flower")]))
            form.find data-piece=(path) data-on=(sheet.draft.get("event.date")) role="search" aria-label={ "A flower for " (name) } {
                label for=(id(&of("add"))) { "Add a flower" }
                input id=(id(&of("add"))) type="search" autocomplete="off" placeholder="dahlia, white spike in June, like hydrangea" maxlength="60"
                    aria-controls={ "found-" (place) };
                ul.found id={ "found-" (place) } aria-label="Flowers found" {}
            }
            p.row {
                (button("Copy this piece", &[(&format!("copy:{path}"), "")], &format!("piece.{}.name", sheet.draft.count("piece"))))
                button type="button" data-edit=(edits(&[(&format!("out:{path}"), "")])) { "Take out " (name) }
            }
            details.more id={ "more-" (place) } {
                summary { "Length, moves, what is near" }
                p.sen {
                    "It is " (sheet.text(&of("length"), "Length", 6, "3.6 m")) " long, "
                    (sheet.text(&of("height"), "Height of its flowers, in a tent", 6, "table")) " up, and "
                    (sheet.choice(&of("look"), "Fullness", &[("", "as counted"), ("thin", "thin"), ("standard", "standard"), ("lush", "lush")]))
                    ", " (sheet.choice(&of("shape"), "Where it is", &[("table", "on a table"), ("arch", "upright, such as an arch"), ("cake", "on a cake")]))
                    ", near " (sheet.text(&of("near"), "Near what", 16, "cake, candles"))
                }
                p.sen {
                    "Its flowers stand together in "
                    (sheet.choice(&of("vessel"), "Vessel", &[
                        ("", "no vessel"), ("jar", "a jar"), ("compote", "a compote"), ("bowl", "a bowl"), ("vase", "a vase"),
                        ("jug", "a jug"), ("urn", "an urn"), ("bucket", "a bucket"),
                    ]))
                    ", " (sheet.text(&of("vessels"), "How many vessels in each", 3, "1")) " of them, each with "
                    (sheet.text(&of("vessel_water"), "Water in one vessel", 6, "usual")) " of water."
                }
                (sheet.told(&[&of("vessel"), &of("vessels"), &of("vessel_water")]))
                p.sen {
                    "Set not before " (sheet.time(&of("placed_from"), "Set not before", "any")) " and not after "
                    (sheet.time(&of("placed_to"), "Set not after", "any"))
                }
                @for step in sheet.draft.each(&of("move")) {
                    @let at = |key: &str| format!("{step}.{key}");
                    p.sen {
                        "At " (sheet.time(&at("at"), "Moved at", "17:00")) " it is moved to the "
                        (sheet.choice(&at("to"), "Moved to", &rooms)) " " (out(&step, "this move"))
                    }
                    (sheet.told(&[&step, &at("at"), &at("to")]))
                }
                (sheet.told(&[&of("length"), &of("height"), &of("look"), &of("shape"), &of("near"), &of("placed_from"), &of("placed_to")]))
                @if rooms.len() > 1 {
                    @let moves = of("move");
                    @let doors = sheet.draft.get("event.doors");
                    p.row { (button("It is moved", &[
                        (&format!("add:{moves}"), ""), (&format!("set:{moves}.+.at"), &doors), (&format!("set:{moves}.+.to"), rooms[1].0),
                    ], &format!("{moves}.{}.at", sheet.draft.count(&moves)))) }
                }
            }
        }
    }
}

/// A piece in a line, for when it is closed.
fn in_short(sheet: &Sheet, path: &str) -> String {
    let flowers: Vec<String> = sheet
        .draft
        .each(&format!("{path}.flower"))
        .iter()
        .map(|flower| {
            let get = |key: &str| sheet.draft.get(&format!("{flower}.{key}"));
            let name = get("flower");
            let name = Catalogue::shipped().find(&name).map_or(name, |f| short_name(f.name()));
            format!("{} {name}", get("heads") + &get("stems")).trim().to_string()
        })
        .collect();
    let until = sheet.draft.get(&format!("{path}.until"));
    let until = if until.is_empty() { until } else { format!("until {until}: ") };
    let count = sheet.draft.get(&format!("{path}.count"));
    let each = if count.is_empty() || count == "1" { String::new() } else { format!("{count} alike, ") };
    format!("{each}{until}{}", flowers.join(", "))
}

/// A flower with its count.
fn chip(sheet: &Sheet, path: &str) -> Markup {
    let of = |key: &str| format!("{path}.{key}");
    let written = sheet.draft.get(&of("flower"));
    let known = Catalogue::shipped().find(&written).ok();
    let name = known.map_or(written.clone(), |f| short_name(f.name()));
    let count = if sheet.draft.has(&of("stems")) { "stems" } else { "heads" };
    let other = if count == "stems" { "heads" } else { "stems" };
    let wrong = sheet.below(path).any(|said| !said.missing);
    let words =
        |all: &'static [&'static [&'static str]]| all.iter().map(|w| (w[0], w[0])).collect::<Vec<_>>();
    let methods = [
        ("", "as is best"),
        ("tucked", "dry"),
        ("wired", "wired"),
        ("water tube", "in water tubes"),
        ("bud vase", "in bud vases"),
        ("tucked, water tube", "dry or in tubes"),
        ("water tube, bud vase", "in tubes or vases"),
    ];
    html! {
        div.chip.bad[wrong] {
            span.nm { (capital(&name)) }
            (sheet.number(&of(count), &format!("{count} of {name}")))
            span.slot data-path=(of(count)) data-op="as" {
                label.unseen for={ (id(&of(count))) "-of" } { "Counted in heads or stems: " (name) }
                select id={ (id(&of(count))) "-of" } { option value=(count) selected { (count) } option value=(other) { (other) } }
            }
            (out(path, &name))
        }
        (sheet.told(&[path, &of("flower"), &of("heads"), &of("stems"), &of("like")]))
        details.more id={ "more-" (path.replace('.', "-")) } {
            summary { "More of the " (name) }
            p.sen {
                "Set " (sheet.choice(&of("treatments"), "How it may be set", &methods))
                ", at a price of " (sheet.text(&of("price"), "Price of a stem", 6, "guessed"))
                " a stem. Mine stand dry for " (sheet.text(&of("dry_hours"), "Hours dry in an ordinary room", 5, "usual"))
                " in an ordinary room."
            }
            p.sen {
                "Prepared " (sheet.choice(&of("conditioning"), "How they were prepared", &words(Conditioning::WORDS)))
                ", " (sheet.choice(&of("stage"), "How open", &words(Stage::WORDS)))
                ", leaves " (sheet.choice(&of("leaves"), "Leaves", &[("off", "off"), ("on", "on")]))
                ", delivery " (sheet.text(&of("lot"), "Delivery", 12, "grower and day"))
                ", each head cut into " (sheet.text(&of("split"), "Cut into how many parts", 3, "1"))
                ", like a " (sheet.text(&of("like"), "Like which flower", 12, "if not listed"))
            }
            (sheet.told(&[&of("treatments"), &of("price"), &of("dry_hours"), &of("conditioning"), &of("stage"), &of("leaves"), &of("lot"), &of("split"), &of("refill"), &of("tube")]))
        }
    }
}

/// The flowers that some words speak of, each with a button that adds it to a piece: names, shapes, colours and months, or
/// "like" a flower, in a month.
pub fn found(words: &str, piece: &str, month: i8) -> Markup {
    let words: Vec<String> = words.split_whitespace().filter(|w| *w != "in").map(String::from).collect();
    let found = match &words[..] {
        [] => return html! {},
        [like, other @ ..] if like.eq_ignore_ascii_case("like") && !other.is_empty() => {
            let other = Catalogue::shipped().find(&other.join(" "));
            other.map_or_else(
                |_| Vec::new(),
                |f| likest(f, month, None, MOST_FOUND).iter().map(|l| l.0).collect(),
            )
        }
        words => Catalogue::shipped().search(words),
    };
    let flowers = format!("{piece}.flower");
    html! {
        @if found.is_empty() { li { "None known by that name. Is it like another?" } }
        @for flower in found.iter().take(MOST_FOUND) {
            li {
                button type="button" data-then="last-count" data-edit=(edits(&[
                    (&format!("add:{flowers}"), ""),
                    (&format!("set:{flowers}.+.flower"), flower.id()),
                    (&format!("set:{flowers}.+.heads"), "10"),
                ])) { b { (capital(&short_name(flower.name()))) } " " span { (about(flower)) } }
            }
        }
        @if found.len() > MOST_FOUND { li.small { "and " (found.len() - MOST_FOUND) " more: type another word" } }
    }
}

/// A flower in a few words: what it is, and how long it lasts dry.
fn about(flower: &Flower) -> String {
    let hours = spoken(flower.median(Quantity::DryHours));
    let kind = if flower.kind() == Kind::Foliage { "foliage, " } else { "" };
    format!("{kind}{}, {}, {}, about {hours} dry", flower.botanical(), flower.form(), flower.months())
}
