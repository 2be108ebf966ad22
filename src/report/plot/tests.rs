use super::*;

#[test]
fn ticks_are_round_and_cover_the_range() {
    let written = |range, about| {
        let (values, decimals) = ticks(range, about);
        values.iter().map(|value| axis::number(*value, decimals, true)).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(written((-0.004, 0.008), 6), "\u{2212}0.004 \u{2212}0.002 0 +0.002 +0.004 +0.006 +0.008");
    assert_eq!(written((0.0, 12.0), 6), "0 +2 +4 +6 +8 +10 +12");
    assert_eq!(ticks((0.0, 400.0), 4), (vec![0.0, 100.0, 200.0, 300.0, 400.0], 0));
    // One value alone still has an axis.
    assert!(ticks((3.0, 3.0), 4).0.len() > 1);
    assert!(!ticks((f64::NAN, 0.0), 4).0.is_empty());
}

#[test]
fn a_scale_keeps_what_lies_beyond_it_on_the_page() {
    let scale = Scale::new((0.0, 10.0), (100.0, 200.0));
    assert_eq!(scale.at(5.0), 150.0);
    assert_eq!(scale.within(1e9), 200.0);
    assert_eq!(scale.within(-1e9), 100.0);
    assert!(Scale::new((2.0, 2.0), (0.0, 100.0)).at(2.0).is_finite());
}

fn line(points: Vec<(f64, f64)>) -> Line {
    Line { name: "path".into(), form: Form(0), points, marks: Marks::Full, joined: true }
}

#[test]
fn a_long_series_stays_light_and_loses_no_peak() {
    let mut points: Vec<(f64, f64)> = (0..50_000).map(|at| (f64::from(at), f64::from(at % 7))).collect();
    points[31_234].1 = 500.0;
    let peak = Chart { lines: vec![line(points.clone())], ..Chart::default() }.draw().content.into_string();
    points[31_234].1 = 3.0;
    let flat = Chart { lines: vec![line(points)], ..Chart::default() }.draw().content.into_string();
    assert!(peak.len() < 60_000, "{}", peak.len());
    assert!(peak.contains(">400<") && !flat.contains(">400<"));
    // The peak is one place of its own at the height of its value.
    let highest = |svg: &str| {
        svg.split('L').filter_map(|it| it.split(' ').nth(1)?.parse::<f64>().ok()).fold(f64::MAX, f64::min)
    };
    assert!(highest(&peak) < 100.0, "{}", highest(&peak));
}

#[test]
fn a_sign_never_stands_without_its_words() {
    let ends = Some(Ends { plus: "hump".into(), minus: "hollow".into() });
    let chart = Chart {
        y: Axis::new("departure, in mm").with_ends(ends),
        lines: vec![line(vec![(0.0, -1.0), (1.0, 2.0)])],
        ..Chart::default()
    };
    let svg = chart.draw().content.into_string();
    assert!(svg.contains("+ hump") && svg.contains("\u{2212} hollow"), "{svg}");
}

#[test]
fn what_is_drawn_holds_whatever_it_is_called() {
    let chart = Chart {
        x: Axis::new("</svg><script>"),
        lines: vec![Line { name: "a \"b\" <c> & \u{202e}d\u{7}".into(), ..line(vec![(f64::NAN, 1.0)]) }],
        ..Chart::default()
    };
    let svg = chart.draw().alone("<t>", "w & w");
    assert!(!svg.contains("<script>") && !svg.contains('\u{202e}') && !svg.contains('\u{7}'), "{svg}");
    assert!(svg.contains("&lt;c&gt; &amp;"), "{svg}");
}

#[test]
fn a_value_far_beyond_its_band_is_pointed_at() {
    let dot = Dot { form: Form(0), at: 40.0, uncertain: None };
    let row = Strip {
        name: "L3".into(),
        allowed: Some((Some(0.0), Some(1.0))),
        dots: vec![dot],
        ..Strip::default()
    };
    let axis = Axis { reach: Some((-0.5, 1.5)), ..Axis::new("share of the band") };
    let svg = Strips { axis, rows: vec![row], ..Strips::default() }.draw().content.into_string();
    assert!(svg.contains('\u{2192}'), "{svg}");
}
