//! Flatness: departures from the plane, or heights along the lines of a survey, as a map with a number at each place.

use crate::check::program::{AxisId, By, Function, Stations, Survey};
use crate::metrology::{self, Place, PlaneReference};
use crate::quantity::{Real, Sense, Unit};
use crate::report::plot::{Axis, HeightMap, MapPoint, number};
use crate::walk::text;
use crate::walk::value::Laid;

use super::walked::{Use, Walked, drawn, grouped, joined, with_unit};
use super::{Figure, Shown};

pub(super) fn figures(walked: &Walked<'_>, shown: &mut Shown) -> Vec<Figure> {
    let two = |of: &Use<'_>| of.function != Function::Ordinates || axes_of(of).len() == 2;
    let uses: Vec<Use<'_>> =
        walked.uses(&[Function::Flatness, Function::Ordinates]).into_iter().filter(two).collect();
    let mut figures = Vec::new();
    for (laid, members) in grouped(walked, uses, true) {
        let Some(first) = members.first() else { continue };
        let Some(figure) = departures(walked, first, &members, &laid) else { continue };
        for of in &members {
            walked.take(shown, of.argument);
            if of.whole {
                shown.0.insert(of.result);
            }
        }
        figures.push(figure);
    }
    for of in walked.uses(&[Function::PlateMap]) {
        if of.whole && !shown.0.contains(&of.result) {
            let laid = walked.evaluator.value(of.result);
            figures.extend(heights(walked, &of, &laid));
        }
        shown.0.insert(of.result);
        walked.take(shown, of.argument);
    }
    figures
}

fn axes_of<'u>(of: &'u Use<'_>) -> &'u [AxisId] {
    if of.over.is_empty() { &of.argument.axes } else { of.over }
}

/// Places and values of what is known, and the lines of a survey.
struct Surface {
    places: Vec<Place>,
    values: Vec<Real>,
    lines: Vec<(Place, Place)>,
    labels: (String, String),
    unit: Option<Unit>,
}

fn surface(walked: &Walked<'_>, axes: &[AxisId], laid: &Laid) -> Option<Surface> {
    let [first, second] = laid.axes.as_slice() else { return None };
    let plan = |name: &str| {
        axes.iter().find(|axis| walked.program.axes.get(axis.0).is_some_and(|it| it.name == name))
    };
    let survey = axes.iter().find_map(|axis| match &walked.program.axes.get(axis.0)?.stations {
        Stations::SurveyLines(survey) => Some(survey),
        _ => None,
    });
    let (all, lines, labels, unit) = match survey {
        Some(survey) => of_survey(survey, second.stations.len())?,
        None => {
            let (a, b) = (plan(&first.axis)?, plan(&second.axis)?);
            let mut places = Vec::new();
            for along in first.open() {
                for across in second.open() {
                    places.push(Some((along.position.clone()?, across.position.clone()?)));
                }
            }
            let unit = text::station_unit(&walked.evaluator, a.0);
            (places, Vec::new(), (walked.axis_label(*a), walked.axis_label(*b)), unit)
        }
    };
    let cells = crate::walk::layout::gather(laid, &[0, 1], false);
    let cells = cells.groups().next()?;
    let known =
        all.into_iter().zip(cells).filter_map(|(place, cell)| Some((place?, cell.as_number()?.clone())));
    let (places, values): (Vec<Place>, Vec<Real>) = known.unzip();
    (values.len() >= 3).then_some(Surface { places, values, lines, labels, unit })
}

type Survey4 = (Vec<Option<Place>>, Vec<(Place, Place)>, (String, String), Option<Unit>);

fn of_survey(survey: &Survey, cells: usize) -> Option<Survey4> {
    let mut places = Vec::new();
    let mut lines = Vec::new();
    for line in survey.plan.places() {
        lines.push((line.first()?.clone(), line.last()?.clone()));
        let mut line: Vec<Option<Place>> = line.iter().cloned().map(Some).collect();
        line.resize(cells, None);
        places.extend(line);
    }
    let unit = survey.unit.symbol();
    let labels = (format!("from A to B, in {unit}"), format!("from A to D, in {unit}"));
    Some((places, lines, labels, Some(survey.unit)))
}

fn departures(walked: &Walked<'_>, first: &Use<'_>, members: &[Use<'_>], laid: &Laid) -> Option<Figure> {
    let surface = surface(walked, axes_of(first), laid)?;
    let (reference, plane) = match first.by {
        Some(By::MinimumZone) => (PlaneReference::MinimumZone, "the plane of the minimum zone"),
        _ => (PlaneReference::LeastSquaresByPlace, "the plane of least squares"),
    };
    let ordinates = metrology::plane_ordinates(&surface.places, &surface.values, reference).ok()?;
    let own = members.iter().find(|of| of.whole && of.function == Function::Ordinates);
    let sense = own.and_then(|of| walked.sense(of.result)).or(first.argument.sense.as_ref());
    let unit = walked.unit_of(first);
    let what = format!("Departures from {plane}");
    let (map, words) = map(walked, first, &surface, &ordinates, unit, sense, &what);
    let rules = members.iter().filter(|of| of.whole).flat_map(|of| walked.rules_on(of.result));
    let words = joined([words].into_iter().chain(rules.map(|rule| rule.sentence())));
    Some(Figure { title: walked.label(first.result), words, drawing: map.draw() })
}

fn heights(walked: &Walked<'_>, of: &Use<'_>, laid: &Laid) -> Option<Figure> {
    let axes = walked.program.values.get(of.result.0)?.axes.as_slice();
    let surface = surface(walked, axes, laid)?;
    let (unit, sense) = (walked.unit(of.result), walked.sense(of.result));
    let (map, words) = map(walked, of, &surface, &surface.values, unit, sense, "Heights along the lines");
    Some(Figure { title: walked.label(of.result), words, drawing: map.draw() })
}

fn map(
    walked: &Walked<'_>,
    of: &Use<'_>,
    surface: &Surface,
    values: &[Real],
    unit: Option<Unit>,
    sense: Option<&Sense>,
    what: &str,
) -> (HeightMap, String) {
    let place = |place: &Place| {
        let shown = |length: &Real| drawn(length, surface.unit);
        (shown(&place.0), shown(&place.1))
    };
    let extreme = |greatest: bool| {
        let all = surface.places.iter().zip(values);
        if greatest { all.max_by(|a, b| a.1.cmp(b.1)) } else { all.min_by(|a, b| a.1.cmp(b.1)) }
    };
    let (highest, lowest) = (extreme(true), extreme(false));
    let spread = highest.zip(lowest).map_or(0.0, |(high, low)| drawn(&(high.1 - low.1), unit));
    // Three digits of the whole tell the places apart.
    let decimals =
        if spread > 0.0 { (2.0 - libm::floor(libm::log10(spread))).clamp(0.0, 6.0) as usize } else { 0 };
    let decimals = needed(values.iter().map(|value| drawn(value, unit)), decimals);
    let mut points: Vec<MapPoint> = Vec::new();
    for (at, value) in surface.places.iter().zip(values) {
        let ((x, y), value) = (place(at), drawn(value, unit));
        // Where lines of a survey cross, the first of them is shown.
        if points.iter().any(|known| known.x == x && known.y == y) {
            continue;
        }
        let marked = [highest, lowest].into_iter().flatten().any(|(known, _)| known == at);
        points.push(MapPoint { x, y, value, text: number(value, decimals, true), marked });
    }
    let unit_name = unit.map(|unit| unit.symbol()).unwrap_or_default();
    let signs = match sense {
        Some(sense) => format!("+ {}, \u{2212} {}", sense.plus, sense.minus),
        None => "+ above, \u{2212} below".to_owned(),
    };
    let map = HeightMap {
        x: Axis::new(surface.labels.0.clone()),
        y: Axis::new(with_unit(what, unit) + ";  upward: " + &surface.labels.1),
        points,
        lines: surface.lines.iter().map(|(from, to)| (place(from), place(to))).collect(),
        note: format!("{unit_name}: {signs}; framed: highest, lowest"),
    };
    let said = |found: Option<(&Place, &Real)>| match found {
        Some((at, value)) => {
            let unit_of = |length: &Real| text::limit(length, surface.unit);
            format!(
                "{} at {} by {}",
                walked.said(value, unit, sense, of.result),
                unit_of(&at.0),
                unit_of(&at.1)
            )
        }
        None => String::new(),
    };
    let words =
        format!("{what}, at {} places: highest {}, lowest {}.", values.len(), said(highest), said(lowest));
    (map, words)
}

/// No more decimals than the values have: noughts behind all of them tell nothing.
fn needed(values: impl Iterator<Item = f64> + Clone, most: usize) -> usize {
    let ends = |decimals: usize| {
        let short = |value: f64| number(value, decimals, true).parse::<f64>().ok();
        let long = |value: f64| number(value, most, true).parse::<f64>().ok();
        values.clone().map(f64::abs).all(|value| short(value) == long(value))
    };
    (0..most).find(|decimals| ends(*decimals)).unwrap_or(most)
}
