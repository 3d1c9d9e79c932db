//! How the time that it takes grows with deliveries, placing times, steps and events.
//!
//! Printed are processor seconds, and the slope of their logarithm against that of the size: 1 is in proportion, less is
//! better. With a file as argument the picture is drawn there.

mod common;

use common::spent;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::decide::plan::{Settings, plan};
use headwater::event::{Event, TEMPLATE};
use headwater::flower::catalogue::Catalogue;
use headwater::flower::treatment::{Handling, Method, Treatment};
use headwater::simulate::journey::{Grid, Leg, Placing, Supply};
use headwater::simulate::outcome::EndPoint;
use headwater::simulate::run::{Job, Knowledge, Lots, cases};
use plotters::prelude::*;
use rayon::prelude::*;
use std::hint::black_box;

/// Roses in tubes, tried at some times of two days in a barn.
fn tubes(lots: usize, times: usize, steps: usize) -> f64 {
    let flower = Catalogue::shipped().find("rose").expect("roses");
    let grid = Grid { start: 0.0, step: 48.0 / steps as f64, steps };
    let knots = (0..24)
        .map(f64::from)
        .map(|h| (h, Air::indoors(28.0 - 5.0 * ((h - 15.0) / 3.82).cos().abs(), 0.5).unwrap()));
    let barn = [Climate::daily(knots.collect(), ClimateError::GUESSED).unwrap()];
    let placing = |i: usize| {
        let at = steps / 4 + i * (steps / 2) / times;
        Placing {
            before: vec![Leg { space: 0, from: 0, to: at, supply: Supply::Ample }],
            after: vec![Leg { space: 0, from: at, to: steps, supply: Supply::Dry }],
            refills: Vec::new(),
            ask: steps * 5 / 6,
        }
    };
    let placings: Vec<Placing> = (0..times).map(placing).collect();
    let cases = cases(&placings, &[Treatment::new(Method::WaterTube, 3.0)]);
    spent(|| {
        let job =
            Job { flower, handling: Handling::default(), spaces: &barn, touched: &[0], grid, seed: 1, lots };
        black_box(Lots::new(job).unwrap().shares(Knowledge::AsItIs, &cases, EndPoint::Flagging).unwrap());
    })
    .processor
}

/// So many events planned.
fn season(events: usize) -> f64 {
    let event = Event::read("supper.toml", TEMPLATE, &|_| unreachable!("it names no log")).expect("it reads");
    let settings = Settings { lots: 16, ..Settings::default() };
    spent(|| {
        black_box(
            (0..events)
                .into_par_iter()
                .map(|_| plan(event.clone(), settings).expect("a plan").lasts())
                .collect::<Vec<_>>(),
        );
    })
    .processor
}

/// The slope of a line through logarithms, by least squares.
fn slope(points: &[(f64, f64)]) -> f64 {
    let logs: Vec<(f64, f64)> = points.iter().map(|(x, y)| (x.ln(), y.ln())).collect();
    let n = logs.len() as f64;
    let (mx, my) = (logs.iter().map(|p| p.0).sum::<f64>() / n, logs.iter().map(|p| p.1).sum::<f64>() / n);
    let (xy, xx) = logs
        .iter()
        .map(|(x, y)| ((x - mx) * (y - my), (x - mx).powi(2)))
        .fold((0.0, 0.0), |(a, b), (c, d)| (a + c, b + d));
    xy / xx
}

fn main() {
    let powers = |least: usize| move |k: usize| least * [1, 3, 10, 30, 100, 300, 1000][k];
    let mut all = Vec::new();
    for (name, size, cost) in [
        (
            "deliveries of 32 heads",
            &powers(10) as &dyn Fn(usize) -> usize,
            &(|n| tubes(n, 8, 288)) as &dyn Fn(usize) -> f64,
        ),
        ("placing times", &powers(1), &|n| tubes(64, n, 2304)),
        ("steps", &powers(16), &|n| tubes(64, 8, n)),
        ("events of a season", &powers(1), &season),
    ] {
        let points: Vec<(f64, f64)> = (0..7).map(|k| (size(k) as f64, cost(size(k)))).collect();
        println!("{name}: slope {:.2}, over the upper half {:.2}", slope(&points), slope(&points[3..]));
        for (size, seconds) in &points {
            println!("  {size:6} {seconds:.4} s");
        }
        all.push((name, points));
    }
    if let Some(file) = std::env::args().nth(1).filter(|a| !a.starts_with('-')) {
        draw(&file, &all).expect("the file can be written");
    }
}

/// The ends of the picture's scales.
const MOST: f64 = 200_000.0;
const LEAST_S: f64 = 1e-3;
const MOST_S: f64 = 100.0;

fn draw(file: &str, all: &[(&str, Vec<(f64, f64)>)]) -> Result<(), Box<dyn std::error::Error>> {
    let font = include_bytes!("../reference-data/fonts/Inter-Regular.otf");
    plotters::style::register_font("sans-serif", FontStyle::Normal, font)
        .map_err(|_| "the shipped font does not read")?;
    let root = SVGBackend::new(file, (960, 560)).into_drawing_area();
    root.fill(&WHITE)?;
    let mut chart = ChartBuilder::on(&root)
        .caption("Processor time against size: in proportion along the thin lines", ("sans-serif", 20))
        .margin(16)
        .x_label_area_size(44)
        .y_label_area_size(64)
        .build_cartesian_2d((1.0..MOST).log_scale(), (LEAST_S..MOST_S).log_scale())?;
    chart
        .configure_mesh()
        .disable_mesh()
        .x_desc("how many")
        .y_desc("processor time, s")
        .x_label_formatter(&|x| x.to_string())
        .y_label_formatter(&|y| y.to_string())
        .label_style(("sans-serif", 14))
        .draw()?;
    for each in (-8..=2).map(|k| 10f64.powi(k)) {
        let ends = [(LEAST_S / each).max(1.0), (MOST_S / each).min(MOST)];
        chart.draw_series(LineSeries::new(ends.map(|x| (x, x * each)), BLACK.mix(0.12)))?;
    }
    for ((name, points), colour) in all.iter().zip([0x14_3d_2b, 0xbc_5b_24, 0x25_6e_a8, 0x6a_4c_93]) {
        let colour = RGBColor((colour >> 16) as u8, (colour >> 8) as u8, colour as u8);
        chart.draw_series(LineSeries::new(points.clone(), colour.stroke_width(2)))?;
        chart.draw_series(points.iter().map(|p| Circle::new(*p, 3, colour.filled())))?;
        let last = points[points.len() - 1];
        chart.draw_series([Text::new(
            name.to_string(),
            (last.0 * 1.12, last.1 * 1.1),
            ("sans-serif", 15).into_font().color(&colour),
        )])?;
    }
    root.present()?;
    Ok(())
}
