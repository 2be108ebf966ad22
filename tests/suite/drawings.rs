//! What every drawing owes its reader: axes with names and units, words at each sign, all of it in words too. And the line of
//! least squares, held against a calibration that is worked out in a published guide.

use scraper::{ElementRef, Html, Selector};

use crate::html::{all, everything, of_corpus, rehearsed, text};

fn within<'h>(element: ElementRef<'h>, selector: &str) -> Vec<ElementRef<'h>> {
    element.select(&Selector::parse(selector).unwrap()).collect()
}

fn texts_of(figure: ElementRef<'_>, selector: &str) -> Vec<String> {
    within(figure, selector).into_iter().map(text).collect()
}

fn texts(figure: ElementRef<'_>, class: &str) -> Vec<String> {
    texts_of(figure, &format!("text.{class}"))
}

/// Whether a mark is a number, and its sign: `+0.005`, `−0.005`, `0`.
fn number(mark: &str) -> Option<Option<char>> {
    let sign = mark.chars().next().filter(|it| "+\u{2212}".contains(*it));
    let plain = &mark[sign.map_or(0, char::len_utf8)..];
    plain.parse::<f64>().is_ok().then_some(sign)
}

/// What a drawing owes its reader and does not give.
fn owed(figure: ElementRef<'_>) -> Vec<String> {
    let mut owed = Vec::new();
    let (marks, small) = (texts(figure, "plot-text"), texts(figure, "plot-small"));
    let worded = |words: &str| words.chars().any(char::is_alphabetic);
    if within(figure, "circle.plot-ring").is_empty() {
        // Numbers at the left belong to the name above them, numbers below to the name at the right.
        for (place, anchor_of_marks, anchor_of_name) in [("left", "end", "start"), ("below", "middle", "end")]
        {
            let name = texts(figure, &format!("plot-strong[text-anchor={anchor_of_name}]")).concat();
            let marks = texts(figure, &format!("plot-text[text-anchor={anchor_of_marks}]"));
            let numbers = marks.iter().filter(|it| number(it).is_some()).count();
            let unit = name.split_once(", in ").is_some_and(|(name, unit)| worded(name) && !unit.is_empty());
            if (numbers > 0 && !unit && name != "repeat") || (place == "below" && !worded(&name)) {
                owed.push(format!("{place}: \"{name}\" is no name with a unit for {marks:?}"));
            }
        }
    } else {
        let ring = small.iter().find_map(|it| it.strip_prefix("rim +")?.split_once(' '));
        if !ring
            .is_some_and(|(size, unit)| size.parse::<f64>().is_ok() && unit.starts_with(char::is_alphabetic))
        {
            owed.push(format!("the size of a ring has no unit: {small:?}"));
        }
        if !small.iter().any(|it| it.split_once("outward is plus: ").is_some_and(|(_, words)| worded(words)))
        {
            owed.push(format!("what is outward is not said: {small:?}"));
        }
    }
    // The minus of a temperature needs no words.
    let temperature = texts(figure, "plot-strong").iter().any(|it| it.ends_with(", in K"));
    for sign in marks.iter().filter_map(|mark| number(mark)?) {
        let said = |it: &String| it.split_once(&format!("{sign} ")).is_some_and(|(_, words)| worded(words));
        let needs_none = temperature && sign == '\u{2212}';
        if !needs_none && !small.iter().any(said) {
            owed.push(format!("{sign} without its words: {small:?}"));
        }
    }
    let bare = marks.iter().chain(&small).filter(|it| ["+", "-", "\u{2212}"].contains(&it.as_str()));
    owed.extend(bare.map(|it| format!("a bare {it}")));
    for (part, least) in [("b", 1), ("span", 40)] {
        let said = texts_of(figure, &format!("figcaption {part}")).concat();
        if said.len() < least {
            owed.push(format!("in words it says too little: {said}"));
        }
    }
    owed
}

#[test]
fn each_kind_of_drawing_names_its_axes_and_units_and_says_what_signs_mean() {
    let mut pages = vec![("everything", everything().0.to_owned())];
    for name in ["fitted-line", "series", "feet-and-bars", "joined"] {
        pages.push((name, of_corpus(name)));
    }
    let mut owing = Vec::new();
    for (name, page) in &pages {
        for figure in all(&Html::parse_document(page), "figure") {
            let title = text(within(figure, "figcaption b")[0]);
            owing.extend(owed(figure).into_iter().map(|it| format!("{name}: {title}: {it}")));
        }
    }
    assert!(owing.is_empty(), "{owing:#?}");
}

/// The two numbers of a path like `M54 224.5L575.6 121.4`, after this letter of it.
fn place(path: &str, letter: char) -> (f64, f64) {
    let pair = path.split_once(letter).unwrap().1;
    let pair = pair.split(char::is_alphabetic).next().unwrap().split_once(' ').unwrap();
    (pair.0.parse().unwrap(), pair.1.parse().unwrap())
}

/// What stands at a height of the drawing, from two marks of its axis.
fn scale(figure: ElementRef<'_>) -> impl Fn(f64) -> f64 {
    let marks = within(figure, "text.plot-text[text-anchor=end]");
    let mark = |element: &ElementRef<'_>| {
        let value: f64 = text(*element).replace('\u{2212}', "-").parse().unwrap();
        (element.attr("y").unwrap().parse::<f64>().unwrap() - 4.0, value)
    };
    let (first, last) = (mark(&marks[0]), mark(marks.last().unwrap()));
    move |y| first.1 + (y - first.0) * (last.1 - first.1) / (last.0 - first.0)
}

fn fitted(page: &Html) -> ElementRef<'_> {
    let figures = all(page, "figure");
    figures.into_iter().find(|it| text(*it).contains("fitted line")).expect("the line is drawn")
}

/// The calibration of a thermometer, JCGM 100:2008 (GUM), annex H.3 (from memory): -0.1712 degC at 20 degC with 0.0029, and at
/// 30 degC, which nobody read, -0.1494 degC with a standard uncertainty of 0.0041 degC.
#[test]
fn a_fitted_line_is_drawn_through_its_points_to_the_place_that_was_asked_for_with_its_uncertainty() {
    let page = Html::parse_document(&of_corpus("fitted-line"));
    let figure = fitted(&page);
    let value = scale(figure);
    let near = |y: f64, expected: f64| (value(y) - expected).abs() < 0.00005;
    let line = within(figure, "path.plot-f0[stroke-dasharray=none]");
    let line = line.last().unwrap().attr("d").unwrap();
    let (begins, ends) = (place(line, 'M'), place(line, 'L'));
    assert!(near(begins.1, -0.1712) && near(ends.1, -0.1494), "{line}");
    // Eleven corrections, the first and the last as they were read, and a mark in the legend.
    let points: Vec<f64> = within(figure, "circle.plot-f0")[1..]
        .iter()
        .map(|it| it.attr("cy").unwrap().parse().unwrap())
        .collect();
    assert_eq!(points.len(), 11);
    assert!(near(points[0], -0.171) && near(points[10], -0.160), "{points:?}");
    // U = 2u at both places that were asked for, each drawn once, at the ends of the band.
    let bars = within(figure, "path.plot-f1");
    let reach = |bar: &ElementRef<'_>| {
        let path = bar.attr("d").unwrap();
        let top = path.split_once('V').unwrap().1.split('m').next().unwrap().parse::<f64>().unwrap();
        (value(place(path, 'M').1), value(top))
    };
    let expected = [(-0.1712 - 0.0058, -0.1712 + 0.0058), (-0.1494 - 0.0082, -0.1494 + 0.0082)];
    assert_eq!(bars.len(), expected.len());
    for (bar, expected) in bars.iter().zip(expected) {
        let (low, high) = reach(bar);
        assert!((low - expected.0).abs() < 0.0002 && (high - expected.1).abs() < 0.0002, "{low} {high}");
    }
    let said = text(figure);
    for words in ["at 11 places", "U = 2u of the line", "-0.149377 K, allowed within 0.2 K: passed"] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn a_line_through_two_points_claims_no_uncertainty() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus/good/fitted-line.bedway");
    let whole = std::fs::read_to_string(path).unwrap();
    let first = whole.find("example \"eleven").unwrap()..whole.find("# Two readings").unwrap();
    let two = whole[..first.start].to_owned() + &whole[first.end..];
    let (page, _) = rehearsed("two.bedway", &two);
    let page = Html::parse_document(&page);
    let figure = fitted(&page);
    assert!(within(figure, ".plot-band").is_empty() && within(figure, "path.plot-f1").is_empty());
    assert!(!text(figure).contains("U = 2u"), "{}", text(figure));
}
