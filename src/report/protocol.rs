//! The protocol of a kitchen trial, with a form to fill in.
//!
//! The states, the ten heads and the hourly looks are common practice, no source.

use super::document::{Block, Document, Table};

/// The number of rows of the form.
const LOOKS: usize = 14;

/// The protocol, and the form on a sheet of its own.
pub fn document() -> Document {
    let text = |words: &str| Block::Text(words.to_string());
    let small = |words: &str| Block::Small(words.to_string());
    let heading = |words: &str| Block::Heading(words.to_string());
    let points = |all: &[&str]| Block::Points(all.iter().map(ToString::to_string).collect());
    let row = |all: &[&str]| all.iter().map(ToString::to_string).collect::<Vec<_>>();
    let blocks = vec![
        Block::Title("A kitchen trial of ten heads".to_string()),
        text(
            "How long do they stay presentable out of water? A first trial narrows what is not known of a flower more than any \
             table. It takes an afternoon of short looks, and costs ten heads.",
        ),
        heading("You need"),
        points(&[
            "Ten heads of one delivery, prepared as you always do: in water, in the cool, overnight.",
            "A thermometer-hygrometer beside them, on the same shelf. Let it settle for half an hour.",
            "A kitchen scale that reads to 1 g or better (optional), a tray, snips, a telephone to take photographs.",
            "A room that stays about as warm all day: no sun on the tray, no oven, no fan, no open window.",
        ]),
        heading("The evening before"),
        text("Condition the heads. Number ten slips of paper, one for each head."),
        heading("The start"),
        Block::Ticks(row(&[
            "Take the heads out of the water one after another. Dry the stems. Cut them short and take the leaves off, as for \
             tucking.",
            "Throw out and replace any that is bruised or already soft: the trial is of sound heads.",
            "Lay them on the tray, each by its slip, not touching. Put all on the scale and write the weight down.",
            "Write the time, the temperature and the humidity. Photograph the tray from arm's length, in the light it will have \
             later.",
        ])),
        heading(
            "A look every hour; every half hour for flowers that go in an afternoon, every two or three for hardy ones",
        ),
        text(
            "Judge each head from arm's length, as a photographer would, before you read what you wrote last time:",
        ),
        Block::Table(Table::new(
            &["presentable", "flagging", "wilted"],
            vec![row(&[
                "You would place it now and be photographed beside it.",
                "First visible softening: a petal edge soft or curled, a neck that bends.",
                "Plainly limp, or blown, dropped or browned.",
            ])],
        )),
        text(
            "Count the heads in each state; the three make ten. A head out of water does not come back: a count that rises is a \
             slip. Weigh all ten together, read the air, take the photograph. Go on until eight or nine are past their best. If \
             you must stop earlier, stop: ten heads still good after six hours say a lot, too. If a head is knocked off the \
             tray, write how many are left.",
        ),
        heading("What spoils a trial"),
        points(&[
            "Choosing the ten best. Take them as they come out of the bunch.",
            "The wrong hour of the start, or Fahrenheit written as Celsius: check these two before you file the form.",
            "A thermometer across the room, sun that comes round in the afternoon, a dishwasher that steams.",
        ]),
        text(
            "For a comparison (sprayed or plain, overnight or from the box) take twenty heads of one delivery, ten for each, on two \
             trays side by side, dealt out like cards, and keep two forms.",
        ),
        small(
            "Care: wash your hands and the worktop; florist flowers are not food and some irritate the skin or poison pets. Keep \
             the trays from children, cats and dogs. True lilies are deadly to cats.",
        ),
        small("The states, the ten heads and the hourly looks are common practice, no source."),
        Block::NewSheet,
        heading("Trial"),
        Block::Table(Table::new(
            &["", ""],
            vec![
                row(&["Flower and cultivar:", "Delivery (grower, date):"]),
                row(&["Day:", "Out of the water at:"]),
                row(&["How many heads:", "Prepared: overnight / few hours / from the box"]),
                row(&["How open: tight / half open / blown", "Leaves: off / on"]),
                row(&["Treated with (nothing, if as always):", "Room:"]),
            ],
        )),
        Block::Form(
            row(&[
                "time",
                "temperature (C or F)",
                "humidity %",
                "presentable",
                "flagging",
                "wilted",
                "weight of all, g",
                "photograph, remarks",
            ]),
            LOOKS,
        ),
        small(
            "Into the notebook afterwards: headwater trial start FLOWER --on DAY --at TIME --air \"22C 48%\" --lot \"...\" --weight \
             142g, then for each line headwater trial look --at TIME --presentable N --wilted N --weight 142g --air \"22C 48%\"",
        ),
    ];
    Document { title: "A kitchen trial of ten heads".to_string(), blocks }
}
