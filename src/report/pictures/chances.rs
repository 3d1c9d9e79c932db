//! The picture of the probability that an order meets its target, by placing time, for each treatment.

use super::axes::{Axes, apart, line};
use super::canvas::{fill, fine};
use super::sketch::{Anchor, Point, Sketch};
use super::style::{INK, SOFT, colour, dashes};
use crate::decide::options::PlacingOption;
use crate::event::Event;
use crate::flower::treatment::Treatment;
use crate::report::clock::clock;
use crate::report::facts::OrderFacts;
use crate::report::words::{capital, title, treatment_name};
use plotters::element::Circle;
use plotters::series::PointSeries;

const SIZE: (u32, u32) = (960, 420);
const TOP: f64 = 84.0;
const BASE: f64 = 372.0;

/// The picture of the chances of an order.
pub fn picture(event: &Event, order: &OrderFacts) -> Sketch {
    let tried = |treatment: Treatment| -> Vec<&PlacingOption> { order.of(treatment).collect() };
    let treatments: Vec<(Treatment, Vec<&PlacingOption>)> =
        order.order.treatments().into_iter().map(|t| (t, tried(t))).collect();
    let all = || treatments.iter().flat_map(|(_, tried)| tried.iter().map(|o| o.place_at));
    let first = all().fold(f64::INFINITY, f64::min);
    // A single time still needs an axis.
    let last = all().fold(first + 1.0, f64::max);
    let axes = Axes::new(event, (first, last), (0.0, 100.0), SIZE.0, (TOP, BASE));
    let name = title(&order.piece.name, &order.called(), order.order.heads);
    let mut sheet = Sketch::new(SIZE, described(event, &name, &treatments));
    sheet.text(&name, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = format!(
        "In how many of 100 such events at least {} are still good at {}, by the time of placing, without spares",
        order.wanted,
        clock(event, order.piece.until)
    );
    sheet.text(&under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
    axes.grid(&mut sheet, &[0.0, 25.0, 50.0, 75.0, 100.0]);
    let sure = 100.0 * event.assurance;
    let windows = event.windows(order.piece);
    axes.clock(&mut sheet);
    axes.plot(&mut sheet, |chart| {
        line(chart, &[(first, sure), (last, sure)], INK, 1.4, None)?;
        for (treatment, tried) in &treatments {
            let shade = colour(treatment.method);
            let thick = if *treatment == order.treatment() { 3.2 } else { 2.0 };
            // Nothing is placed between two accesses, so no line runs there.
            let window = |o: &&PlacingOption| {
                windows.iter().position(|(a, b)| (a - 1e-6..=b + 1e-6).contains(&o.place_at))
            };
            for part in tried.chunk_by(|a, b| window(a) == window(b)) {
                let points: Vec<Point> = part.iter().map(|o| (o.place_at, 100.0 * o.assurance)).collect();
                if points.len() > 1 {
                    line(chart, &points, shade, thick, dashes(treatment.method))?;
                }
                chart.draw_series(PointSeries::of_element(
                    points,
                    fine(2.6),
                    fill(shade, 1.0),
                    &Circle::new,
                ))?;
            }
        }
        Ok(())
    });
    let mut labels = vec![(axes.y(sure), treatments.len())];
    for (t, (_, tried)) in treatments.iter().enumerate() {
        labels.extend(tried.last().map(|o| (axes.y(100.0 * o.assurance), t)));
    }
    apart(&mut labels, 17.0, BASE);
    for (height, t) in labels {
        let at = (axes.x(last) + 10.0, height);
        match treatments.get(t) {
            Some((treatment, _)) => {
                let (name, shade) = (treatment_name(*treatment), colour(treatment.method));
                sheet.text(&name, at, 14.0, shade, *treatment == order.treatment(), Anchor::Left);
            }
            None => {
                let words = format!("as sure as is wanted: {sure:.0}");
                sheet.text(&words, at, 12.5, INK, false, Anchor::Left);
            }
        }
    }
    sheet
}

/// The description of the picture for those who cannot see it.
fn described(event: &Event, name: &str, treatments: &[(Treatment, Vec<&PlacingOption>)]) -> String {
    let lines: Vec<String> = treatments
        .iter()
        .filter_map(|(treatment, tried)| {
            let (a, b) = (tried.first()?, tried.last()?);
            let at = |o: &PlacingOption| {
                format!("{:.0} in 100 if placed {}", 100.0 * o.assurance, clock(event, o.place_at))
            };
            Some(format!("{}: {}, {}", capital(&treatment_name(*treatment)), at(a), at(b)))
        })
        .collect();
    format!("{name}: how sure it is to last, by the time of placing. {}.", lines.join("; "))
}
