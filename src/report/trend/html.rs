//! The trend as one page: a chart for each value with its limits behind it, the figures beneath.

use maud::{Markup, html};
use num_traits::ToPrimitive;

use super::text::{PROOF, TOO_FEW, in_words, lacks_drift};
use super::{Figure, Point, Series, Trend};
use crate::quantity::{Rational, exact_text};
use crate::report::frame::{self, Running};
use crate::report::labels::{band, shown};
use crate::report::page::{clean, cut};
use crate::report::plot::{Axis, Chart, Edge, Ends, Form, Line, Marks, STYLE, Tint, Zone, definitions};

pub fn page(trend: &Trend) -> String {
    let title = format!("Machine {} over time", trend.machine);
    let body = html! {
        svg.definitions aria-hidden="true" { (definitions()) }
        header {
            @if let Some(warning) = trend.warning() { p.first { (warning) } }
            h1 dir="auto" { (clean(&title)) } p { (PROOF) }
        }
        main {
            h2 { "Visits" }
            table {
                thead { tr { th scope="col" { "Day" } th scope="col" { "Verdict" } th scope="col" { "Procedure" } th scope="col" { "Record" } } }
                tbody {
                    @for visit in &trend.visits {
                        tr {
                            td { (visit.day) }
                            td { (clean(&visit.verdict)) @if visit.unsigned { b { ", not signed" } } }
                            td dir="auto" { (clean(&visit.title)) @if !visit.revision.is_empty() { ", revision " (clean(&visit.revision)) } }
                            td { (clean(&visit.file)) }
                        }
                    }
                }
            }
            @let added = trend.added();
            @if !added.is_empty() {
                h2 { "Added after the signing" }
                ul { @for text in &added { li dir="auto" { (clean(text)) } } }
            }
            @if !trend.left_out.is_empty() {
                h2 { "Left out" }
                ul { @for record in &trend.left_out { li { (clean(&record.file)) ": " (clean(&record.why)) } } }
            }
            @if lacks_drift(trend) { p { (TOO_FEW) } }
            @for (index, series) in trend.series.iter().enumerate() { (part(index, series)) }
        }
        footer { p { "The records are only read. What was signed stands in them." } }
    };
    let running =
        Running { left: &cut(&title, 60), right: "no proof", foot: "made from records, see verify" }.style();
    frame::page(&title, &[STYLE, include_str!("trend.css"), &running], &body)
}

fn part(index: usize, series: &Series) -> Markup {
    let (title, words) = (format!("t{index}"), format!("w{index}"));
    let signed = series.sense.is_some();
    let compared: Vec<&Point> = series.points.iter().filter(|point| point.apart.is_none()).collect();
    html! {
        section {
            h2 id=(title) dir="auto" { (series.step) " " (clean(&series.title)) ": " (clean(&series.what)) }
            @if series.drift.is_some() || compared.len() > 1 { p id=(words) { (clean(&in_words(series))) } }
            @if compared.len() > 1 { (chart(series, &compared).draw().on_page(&title, &words)) }
            table {
                thead { tr { th scope="col" { "Day" } th scope="col" { "As found" } th scope="col" { "As left" } th scope="col" { "Limit" } th scope="col" { "Verdict" } th scope="col" { "Changed" } } }
                tbody {
                    @for point in &series.points {
                        tr {
                            td { (point.day) }
                            td { (value(&point.found, series)) }
                            td { (value(&point.left, series)) }
                            td { (limit(&point.left, signed)) }
                            td { (point.verdict()) }
                            td { (clean(&point.remarks())) }
                        }
                    }
                }
            }
        }
    }
}

fn value(figure: &Figure, series: &Series) -> String {
    shown(&exact_text(&figure.value), series.unit.as_deref(), series.sense.is_some())
}

fn limit(figure: &Figure, signed: bool) -> String {
    let text = |limit: &Option<Rational>| limit.as_ref().map(exact_text);
    band(text(&figure.lower).as_deref(), text(&figure.upper).as_deref(), None, signed)
}

/// As found and as left against the limits, broken where the procedure or an instrument changed.
fn chart(series: &Series, points: &[&Point]) -> Chart {
    let at = |point: &Point| point.years.to_f64().unwrap_or_default();
    let number = |limit: &Option<Rational>| limit.as_ref().and_then(ToPrimitive::to_f64);
    let edge = |point: &&Point| Edge {
        at: at(point),
        low: number(&point.left.lower),
        high: number(&point.left.upper),
    };
    let mut lines = Vec::new();
    let mut rest = points;
    while !rest.is_empty() {
        let next =
            rest.iter().skip(1).position(|point| !point.breaks.is_empty()).map_or(rest.len(), |it| it + 1);
        let (stretch, after) = rest.split_at(next);
        let first = lines.is_empty();
        let line = |name: &str, form, figure: &dyn Fn(&Point) -> f64| Line {
            name: if first { name.to_owned() } else { String::new() },
            form,
            points: stretch.iter().map(|point| (at(point), figure(point))).collect(),
            marks: Marks::Full,
            joined: true,
        };
        let found = line("as found", Form(0), &|point| point.found.shown());
        let left = line("as left", Form(1), &|point| point.left.shown());
        lines.extend([found, left]);
        rest = after;
    }
    let label = series.unit.as_ref().map_or_else(|| series.what.clone(), |unit| format!("in {unit}"));
    let ends =
        series.sense.as_ref().map(|sense| Ends { plus: sense.plus.clone(), minus: sense.minus.clone() });
    let mut x = Axis::new("day of the reading; a gap in the lines: procedure or instrument changed");
    // As many days as have room.
    let every = points.len().div_ceil(7).max(1);
    x.names = points.iter().step_by(every).map(|point| (at(point), point.day.clone())).collect();
    let zone = Zone {
        tint: Tint::Allowed,
        edges: points.iter().map(edge).collect(),
        edged: true,
        name: "allowed".to_owned(),
    };
    Chart { x, y: Axis::new(label).with_ends(ends), lines, zones: vec![zone], ..Chart::default() }
}
