//! Laid-out values: how two of them meet, and how the stations of an axis are gathered.
//!
//! Axes are known by name. Two values meet element by element where the stations of an axis of one are those of the
//! axis of that name of the other; else it is said which stations differ. Knows nothing of expressions.

use std::rc::Rc;

use super::value::{Cell, Laid, Station, Stations};

/// Several values over the axes of all of them.
#[derive(Debug)]
pub struct Aligned<'l> {
    pub axes: Vec<Rc<Stations>>,
    sources: Vec<(&'l Laid, Source)>,
    count: usize,
}

#[derive(Debug)]
enum Source {
    Single,
    Same,
    At(Vec<usize>),
}

impl Aligned<'_> {
    /// How many elements there are.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The cell of the value with this number (in the order given to [`align`]) at an element.
    pub fn cell(&self, value: usize, element: usize) -> &Cell {
        let found = self.sources.get(value).and_then(|(laid, source)| {
            laid.cells.get(match source {
                Source::Single => 0,
                Source::Same => element,
                Source::At(places) => *places.get(element)?,
            })
        });
        found.unwrap_or(&Cell::Awaited)
    }

    /// The names of the stations of an element, outermost first: "50 mm, vertical".
    pub fn place(&self, element: usize) -> String {
        place(&self.axes, element)
    }
}

/// The names of the stations of an element, outermost first; empty without axes.
pub fn place(axes: &[Rc<Stations>], element: usize) -> String {
    names(axes, element).join(", ")
}

/// The stations of an element by name, outermost first.
pub fn names(axes: &[Rc<Stations>], element: usize) -> Vec<&str> {
    let mut rest = element;
    let mut names: Vec<&str> = Vec::with_capacity(axes.len());
    for axis in axes.iter().rev() {
        let count = axis.stations.len().max(1);
        if let Some(station) = axis.stations.get(rest % count) {
            names.push(&station.name);
        }
        rest /= count;
    }
    names.reverse();
    names
}

/// Lays several values over the axes of all. `Err`: an invalid value that names the stations that differ.
pub fn align<'l>(values: &[&'l Laid]) -> Result<Aligned<'l>, Laid> {
    let mut axes: Vec<Rc<Stations>> = Vec::new();
    let mut fault = None;
    // The value with the most axes, the first of several, gives their order.
    let widest = values.iter().rev().max_by_key(|value| value.axes.len());
    for axis in widest.into_iter().chain(values).flat_map(|value| &value.axes) {
        match axes.iter_mut().find(|known| known.axis == axis.axis) {
            None => axes.push(axis.clone()),
            Some(known) => match agree(known, axis) {
                Ok(None) => {}
                Ok(Some(shorter)) => *known = shorter,
                Err(reason) => fault = Some(reason),
            },
        }
    }
    if let Some(reason) = fault {
        return Err(Laid::filled(axes, Cell::invalid(reason)));
    }
    let count = axes.iter().map(|axis| axis.stations.len()).product();
    let sources = values.iter().map(|value| (*value, source(value, &axes))).collect();
    Ok(Aligned { axes, sources, count })
}

fn source(value: &Laid, axes: &[Rc<Stations>]) -> Source {
    if value.axes.is_empty() {
        return Source::Single;
    }
    let same = value.axes.len() == axes.len()
        && value
            .axes
            .iter()
            .zip(axes)
            .all(|(own, all)| own.axis == all.axis && own.stations.len() == all.stations.len());
    if same {
        return Source::Same;
    }
    let strides = strides(&value.axes);
    let steps: Vec<(usize, usize)> = axes
        .iter()
        .map(|axis| {
            let own = value.axes.iter().position(|own| own.axis == axis.axis);
            (axis.stations.len(), own.and_then(|own| strides.get(own)).copied().unwrap_or(0))
        })
        .collect();
    Source::At(offsets(&steps))
}

/// `Ok(Some)`: they agree but for a closing station, which is left out.
fn agree(a: &Rc<Stations>, b: &Rc<Stations>) -> Result<Option<Rc<Stations>>, String> {
    if Rc::ptr_eq(a, b) {
        return Ok(None);
    }
    let (left, right) = (a.open(), b.open());
    for (one, other) in left.iter().zip(right) {
        let same = match (&one.position, &other.position) {
            (Some(here), Some(there)) => here.equals(there),
            _ => one.name == other.name,
        };
        if !same {
            return Err(format!("the stations of {} differ: {} against {}", a.axis, one.name, other.name));
        }
    }
    if left.len() != right.len() {
        let further = left.get(right.len()).or_else(|| right.get(left.len()));
        let further = further.map_or("", |station| &station.name);
        return Err(format!(
            "the stations of {} differ: {} against {}, with nothing to meet {further}",
            a.axis,
            left.len(),
            right.len()
        ));
    }
    Ok((a.closing && !b.closing).then(|| b.clone()))
}

/// The cells between one station and the next, an axis.
fn strides(axes: &[Rc<Stations>]) -> Vec<usize> {
    let mut stride = 1;
    let mut strides: Vec<usize> = axes
        .iter()
        .rev()
        .map(|axis| {
            let own = stride;
            stride *= axis.stations.len();
            own
        })
        .collect();
    strides.reverse();
    strides
}

/// The places of all cells of a block: of each axis how many stations, and the cells between two of them.
fn offsets(steps: &[(usize, usize)]) -> Vec<usize> {
    let mut places = vec![0];
    for &(count, stride) in steps {
        places = places.iter().flat_map(|base| (0..count).map(move |k| base + k * stride)).collect();
    }
    places
}

/// The cells of a value, gathered along some of its axes.
#[derive(Debug)]
pub struct Gathered<'l> {
    laid: &'l Laid,
    pub kept: Vec<Rc<Stations>>,
    outer: Vec<usize>,
    inner: Vec<usize>,
}

impl<'l> Gathered<'l> {
    /// One group for each element of the axes that are kept.
    pub fn groups(&self) -> impl Iterator<Item = Vec<&'l Cell>> + '_ {
        self.outer
            .iter()
            .map(|base| self.inner.iter().filter_map(|step| self.laid.cells.get(base + step)).collect())
    }
}

/// Gathers the cells along the axes at these positions; their closing stations only on demand.
pub fn gather<'l>(laid: &'l Laid, over: &[usize], closing: bool) -> Gathered<'l> {
    let strides = strides(&laid.axes);
    let (mut inner, mut outer, mut kept) = (Vec::new(), Vec::new(), Vec::new());
    for (position, (axis, stride)) in laid.axes.iter().zip(strides).enumerate() {
        if over.contains(&position) {
            inner.push((if closing { axis.stations.len() } else { axis.open().len() }, stride));
        } else {
            outer.push((axis.stations.len(), stride));
            kept.push(axis.clone());
        }
    }
    Gathered { laid, kept, outer: offsets(&outer), inner: offsets(&inner) }
}

/// One cell for each group along the axes at these positions.
pub fn collapse(laid: &Laid, over: &[usize], mut into: impl FnMut(&[&Cell]) -> Cell) -> Laid {
    let gathered = gather(laid, over, false);
    let cells = gathered.groups().map(|group| into(&group)).collect();
    Laid { axes: gathered.kept, cells }
}

/// The axis at this position gets other stations, for each group along it `into` gives their cells.
pub fn reshape(
    laid: &Laid,
    over: usize,
    stations: Rc<Stations>,
    mut into: impl FnMut(&[&Cell]) -> Vec<Cell>,
) -> Laid {
    let gathered = gather(laid, &[over], false);
    let mut axes = laid.axes.clone();
    if let Some(axis) = axes.get_mut(over) {
        *axis = stations;
    }
    let steps: Vec<(usize, usize)> =
        axes.iter().zip(strides(&axes)).map(|(axis, stride)| (axis.stations.len(), stride)).collect();
    let part = |own: bool| {
        let chosen = steps.iter().enumerate().filter(|(position, _)| (*position == over) == own);
        offsets(&chosen.map(|(_, step)| *step).collect::<Vec<_>>())
    };
    let (outer, inner) = (part(false), part(true));
    let mut result = Laid::filled(axes, Cell::Awaited);
    for (base, group) in outer.iter().zip(gathered.groups()) {
        for (step, cell) in inner.iter().zip(into(&group)) {
            if let Some(place) = result.cells.get_mut(base + step) {
                *place = cell;
            }
        }
    }
    result
}

/// The cells of each group along the axes at these positions changed in place; closing stations are left out.
pub fn replaced(laid: &Rc<Laid>, over: &[usize], mut into: impl FnMut(&[&Cell]) -> Vec<Cell>) -> Laid {
    let laid = without_closing(laid);
    let gathered = gather(&laid, over, false);
    let mut cells = laid.cells.clone();
    for (base, group) in gathered.outer.iter().zip(gathered.groups()) {
        for (step, cell) in gathered.inner.iter().zip(into(&group)) {
            if let Some(place) = cells.get_mut(base + step) {
                *place = cell;
            }
        }
    }
    Laid { axes: laid.axes.clone(), cells }
}

/// The value at one station: its axis drops out.
pub fn at(laid: &Laid, axis: usize, station: usize) -> Laid {
    let gathered = gather(laid, &[axis], true);
    let cells =
        gathered.groups().filter_map(|group| group.get(station).map(|cell| (*cell).clone())).collect();
    Laid { axes: gathered.kept, cells }
}

/// An axis without its closing station.
pub fn opened(axis: &Rc<Stations>) -> Rc<Stations> {
    if !axis.closing {
        return axis.clone();
    }
    Rc::new(Stations {
        stations: axis.open().to_vec(),
        closing: false,
        axis: axis.axis.clone(),
        foot: axis.foot.clone(),
    })
}

/// A value without the closing stations of its axes.
pub fn without_closing(laid: &Rc<Laid>) -> Rc<Laid> {
    let mut result = laid.clone();
    for position in 0..laid.axes.len() {
        if let Some(axis) = result.axes.get(position).filter(|axis| axis.closing) {
            let axis = opened(axis);
            result = Rc::new(reshape(&result, position, axis, |group| {
                group.iter().map(|cell| (*cell).clone()).collect()
            }));
        }
    }
    result
}

/// The axis without the stations at its end for which `keep` is false: how many stay is given.
pub fn shortened(laid: &Laid, axis: usize, count: usize) -> Laid {
    let Some(stations) = laid.axes.get(axis) else { return laid.clone() };
    let kept: Vec<Station> = stations.stations.iter().take(count).cloned().collect();
    let stations = Stations { stations: kept, ..(**stations).clone() };
    reshape(laid, axis, Rc::new(stations), |group| {
        group.iter().take(count).map(|cell| (*cell).clone()).collect()
    })
}
